//! Any contacts and any way as GPX: another XML reader finds every waypoint and every point
//! that lies on the globe, with the text as it was.
#![no_main]

use chrono::DateTime;
use jumpseat_entries::Contact;
use jumpseat_formats::gpx::{GpxPoint, GpxTrack, write};
use libfuzzer_sys::fuzz_target;
use quick_xml::Reader;
use quick_xml::escape::unescape;
use quick_xml::events::Event;

type FuzzedFix = (f64, f64, i64);

fuzz_target!(
    |input: (Vec<(&str, &str, FuzzedFix)>, &str, Vec<Vec<FuzzedFix>>)| {
        let (contacts, name, pieces) = input;
        let contacts: Vec<Contact> = contacts
            .into_iter()
            .map(|(call, comment, (lat, lon, at))| Contact {
                call: call.to_owned(),
                comment: Some(comment.to_owned()),
                on: DateTime::from_timestamp(at, 0),
                lat: Some(lat),
                lon: Some(lon),
                ..Contact::default()
            })
            .collect();
        let point = |(lat, lon, at): FuzzedFix| GpxPoint {
            lat,
            lon,
            time: DateTime::from_timestamp(at, 0),
        };
        let track = GpxTrack {
            name: name.to_owned(),
            pieces: pieces
                .into_iter()
                .map(|piece| piece.into_iter().map(point).collect())
                .collect(),
        };
        let points = track.pieces.iter().flatten();
        let points = points
            .filter(|at| at.lat.abs() <= 90.0 && at.lon.abs() <= 180.0)
            .count();
        let gpx = write(&contacts, &[track], "P", DateTime::UNIX_EPOCH);
        let (mut waypoints, mut found, mut depth) = (0, 0, 0_i32);
        let mut reader = Reader::from_str(&gpx.text);
        loop {
            match reader.read_event().expect("well-formed") {
                Event::Start(tag) => {
                    depth += 1;
                    waypoints += usize::from(tag.name().as_ref() == "wpt");
                    found += usize::from(tag.name().as_ref() == "trkpt");
                    for attribute in tag.attributes() {
                        attribute.expect("an attribute");
                    }
                }
                Event::End(_) => depth -= 1,
                Event::Text(text) => {
                    unescape(&text).expect("text");
                }
                Event::Eof => break,
                _ => {}
            }
        }
        assert_eq!(depth, 0);
        assert_eq!(waypoints + gpx.placeless.len(), contacts.len());
        assert_eq!(found, points);
    }
);
