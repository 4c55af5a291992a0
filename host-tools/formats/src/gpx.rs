//! GPX 1.1 (topografix.com/GPX/1/1): the route driven, with a waypoint for each contact.

use chrono::{DateTime, SecondsFormat, Utc};

use crate::xml::XmlWriter;
use jumpseat_entries::Contact;
use jumpseat_values::display::megahertz;

/// A point of the route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GpxPoint {
    /// Degrees, north positive, -90 to 90.
    pub lat: f64,
    /// Degrees, east positive, -180 to 180.
    pub lon: f64,
    /// When, UTC; `None` when it is not known.
    pub time: Option<DateTime<Utc>>,
}

/// The route of one trip.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GpxTrack {
    /// The trip's name.
    pub name: String,
    /// Stretches without a gap, each in order of time.
    pub pieces: Vec<Vec<GpxPoint>>,
}

/// A GPX file's text, and the indices of the contacts that have no place in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GpxFile {
    /// UTF-8.
    pub text: String,
    /// Contacts without a position.
    pub placeless: Vec<usize>,
}

/// Writes a GPX file. Points outside the globe are left out.
pub fn write(
    contacts: &[Contact],
    tracks: &[GpxTrack],
    program: &str,
    created: DateTime<Utc>,
) -> GpxFile {
    let mut xml = XmlWriter::new();
    xml.begin(
        "gpx",
        &[
            ("version", "1.1"),
            ("creator", program),
            ("xmlns", "http://www.topografix.com/GPX/1/1"),
        ],
    );
    xml.begin("metadata", &[]);
    xml.leaf("time", &stamp(created));
    xml.end();
    let mut placeless = Vec::new();
    for (index, contact) in contacts.iter().enumerate() {
        let place = contact.lat.zip(contact.lon).and_then(|(lat, lon)| {
            let time = contact.on;
            place(GpxPoint { lat, lon, time })
        });
        match place {
            Some(at) => waypoint(&mut xml, contact, &at),
            None => placeless.push(index),
        }
    }
    for track in tracks {
        xml.begin("trk", &[]);
        xml.leaf("name", &track.name);
        for piece in &track.pieces {
            xml.begin("trkseg", &[]);
            for point in piece {
                if let Some(at) = place(*point) {
                    xml.begin(
                        "trkpt",
                        &at.each_ref().map(|(name, value)| (*name, value.as_str())),
                    );
                    time(&mut xml, point.time);
                    xml.end();
                }
            }
            xml.end();
        }
        xml.end();
    }
    GpxFile {
        text: xml.finish(),
        placeless,
    }
}

/// The order of elements is that of the schema: time, name, desc, type.
fn waypoint(xml: &mut XmlWriter, contact: &Contact, at: &[(&'static str, String); 2]) {
    xml.begin(
        "wpt",
        &at.each_ref().map(|(name, value)| (*name, value.as_str())),
    );
    time(xml, contact.on);
    xml.leaf("name", contact.call.trim());
    let said: Vec<String> = [
        contact.hz.map(|hz| format!("{} MHz", megahertz(hz))),
        contact.submode.clone().or_else(|| contact.mode.clone()),
        contact.sent.as_ref().map(|report| format!("sent {report}")),
        contact
            .received
            .as_ref()
            .map(|report| format!("received {report}")),
        contact.name.clone(),
        contact.area.as_ref().map(|area| area.name.clone()),
        contact.comment.clone(),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !said.is_empty() {
        xml.leaf("desc", &said.join("; "));
    }
    xml.leaf("type", "contact");
    xml.end();
}

fn time(xml: &mut XmlWriter, time: Option<DateTime<Utc>>) {
    if let Some(time) = time {
        xml.leaf("time", &stamp(time));
    }
}

fn stamp(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Millis, true)
}

/// The schema's longitude is below 180.
fn place(point: GpxPoint) -> Option<[(&'static str, String); 2]> {
    let GpxPoint { lat, lon, .. } = point;
    let on_the_globe = (-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon);
    let lon = if lon == 180.0 { -180.0 } else { lon };
    on_the_globe.then(|| [("lat", format!("{lat:.7}")), ("lon", format!("{lon:.7}"))])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(
        contact: &Contact,
        track: &[GpxPoint],
        waypoints: &str,
        points: &str,
        placeless: &[usize],
    ) {
        let created = "2026-05-14T15:02:11Z".parse().unwrap();
        let tracks = [GpxTrack {
            name: "t & u".into(),
            pieces: vec![track.to_vec()],
        }];
        let gpx = write(std::slice::from_ref(contact), &tracks, "P", created);
        let flat: String = gpx.text.lines().map(str::trim).collect();
        let expected = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?><gpx version=\"1.1\" creator=\"P\" \
             xmlns=\"http://www.topografix.com/GPX/1/1\"><metadata>\
             <time>2026-05-14T15:02:11.000Z</time></metadata>{waypoints}<trk>\
             <name>t &amp; u</name><trkseg>{points}</trkseg></trk></gpx>"
        );
        assert_eq!(flat, expected);
        assert_eq!(gpx.placeless, placeless);
    }

    #[test]
    fn contacts_and_the_way() {
        let at = |lat, lon| GpxPoint {
            lat,
            lon,
            time: None,
        };
        let mut contact = Contact {
            call: "KB0QSE".into(),
            ..Contact::default()
        };
        check(&contact, &[at(91.0, 0.0), at(f64::NAN, 0.0)], "", "", &[0]);
        contact.lat = Some(41.5);
        contact.lon = Some(180.0);
        contact.on = Some("2026-05-14T15:04:27.516Z".parse().unwrap());
        contact.hz = Some(14_287_500);
        contact.name = Some("Ruth <R>".into());
        check(
            &contact,
            &[at(41.0, -109.5)],
            "<wpt lat=\"41.5000000\" lon=\"-180.0000000\"><time>2026-05-14T15:04:27.516Z</time>\
             <name>KB0QSE</name><desc>14.2875 MHz; Ruth &lt;R&gt;</desc><type>contact</type></wpt>",
            "<trkpt lat=\"41.0000000\" lon=\"-109.5000000\"></trkpt>",
            &[],
        );
    }
}
