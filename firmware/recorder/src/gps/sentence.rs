//! Converts NMEA 0183 sentences (RMC, GGA, ZDA) to time and position records.

use chrono::{NaiveDate, NaiveTime};
use jumpseat_core::journal::{JournalEvent, PositionSource, TimeSource, clip};
use nmea::ParseResult;
use nmea::sentences::{GgaData, RmcData, rmc::RmcStatusOfFix};

/// One knot in metres per second: 1852 m in 3600 s.
const KNOT_MPS: f32 = 1_852.0 / 3_600.0;

/// After this many GGA sentences without an RMC, GGA alone gives the position.
const MAX_GGA_WITHOUT_RMC: u32 = 3;

/// Reads the sentences of one receiver in order.
#[derive(Debug, Default)]
pub struct SentenceReader {
    gga: Option<GgaData>,
    gga_without_rmc: u32,
    valid: bool,
}

impl SentenceReader {
    /// A reader without input so far.
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads one sentence, with or without its line end. Returns no events for sentences of
    /// other kinds, and `None` for one that is damaged (its checksum or its fields).
    pub fn read(&mut self, sentence: &str) -> Option<Vec<JournalEvent>> {
        let sentence = sentence.trim();
        match nmea::parse_str(sentence) {
            Ok(ParseResult::RMC(rmc)) => Some(self.rmc(&rmc)),
            Ok(ParseResult::GGA(gga)) => Some(self.gga(gga)),
            Ok(ParseResult::ZDA(zda)) => Some(
                time(zda.utc_date(), zda.utc_time, self.valid)
                    .into_iter()
                    .collect(),
            ),
            Ok(_) => Some(Vec::new()),
            Err(nmea::Error::DisabledSentence | nmea::Error::Unsupported(_)) => Some(Vec::new()),
            Err(_) if is_other_kind(sentence) => Some(Vec::new()),
            Err(_) => None,
        }
    }

    fn rmc(&mut self, rmc: &RmcData) -> Vec<JournalEvent> {
        self.gga_without_rmc = 0;
        self.valid = rmc.status_of_fix != RmcStatusOfFix::Invalid;
        let mut events = Vec::new();
        events.extend(time(rmc.fix_date, rmc.fix_time, self.valid));
        // Altitude and satellites are in the GGA of the same instant, if that came first.
        let gga = self.gga.take().filter(|gga| gga.fix_time == rmc.fix_time);
        if let (Some(lat), Some(lon)) = (rmc.lat, rmc.lon) {
            let speed_mps = rmc.speed_over_ground.map(|knots| knots * KNOT_MPS);
            events.push(position((lat, lon), speed_mps, gga.as_ref(), self.valid));
        }
        events
    }

    fn gga(&mut self, gga: GgaData) -> Vec<JournalEvent> {
        self.gga_without_rmc = self.gga_without_rmc.saturating_add(1);
        let mut events = Vec::new();
        if self.gga_without_rmc > MAX_GGA_WITHOUT_RMC
            && let (Some(lat), Some(lon)) = (gga.latitude, gga.longitude)
        {
            let valid = gga.fix_type.is_some_and(|fix| fix.is_valid());
            events.push(position((lat, lon), None, Some(&gga), valid));
        }
        self.gga = Some(gga);
        events
    }
}

/// A sentence of a kind that is not read here; its checksum is not checked.
fn is_other_kind(sentence: &str) -> bool {
    let kind = sentence.get(3..6);
    sentence.starts_with('$') && !matches!(kind, None | Some("RMC" | "GGA" | "ZDA"))
}

fn time(date: Option<NaiveDate>, time: Option<NaiveTime>, valid: bool) -> Option<JournalEvent> {
    let utc = date?.and_time(time?);
    Some(JournalEvent::TimeFix {
        // With as many decimals as there are.
        utc: clip(&utc.format("%Y-%m-%dT%H:%M:%S%.fZ").to_string()),
        source: TimeSource::Nmea,
        valid,
        within_ms: None,
    })
}

fn position(
    (lat, lon): (f64, f64),
    speed_mps: Option<f32>,
    gga: Option<&GgaData>,
    valid: bool,
) -> JournalEvent {
    JournalEvent::PositionFix {
        lat,
        lon,
        alt_m: gga.and_then(|gga| gga.altitude),
        speed_mps,
        satellites: gga
            .and_then(|gga| gga.fix_satellites)
            .and_then(|count| u8::try_from(count).ok()),
        hdop: gga.and_then(|gga| gga.hdop),
        source: PositionSource::Nmea,
        valid,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The events of these sentences (given without checksums), as JSON.
    #[track_caller]
    fn check(bodies: &[&str], expected: &[&str]) {
        let mut reader = SentenceReader::new();
        let mut told = Vec::new();
        for body in bodies {
            let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
            let events = reader.read(&format!("${body}*{sum:02X}\r\n")).unwrap();
            told.extend(
                events
                    .iter()
                    .map(|event| serde_json::to_string(event).unwrap()),
            );
        }
        assert_eq!(told, expected);
    }

    const GGA: &str = "GPGGA,150211.25,4124.8963,N,08151.6838,W,1,05,1.5,280.2,M,-34.0,M,,";

    #[test]
    fn a_fix_tells_time_and_place() {
        check(
            &[
                GGA,
                "GPRMC,150211.25,A,4124.8963,N,08151.6838,W,20.0,85.5,140526,,,A",
            ],
            &[
                r#"{"time_fix":{"utc":"2026-05-14T15:02:11.250Z","source":"nmea","valid":true}}"#,
                r#"{"position_fix":{"lat":41.41493833333333,"lon":-81.86139666666666,"alt_m":280.2,"speed_mps":10.288889,"satellites":5,"hdop":1.5,"source":"nmea","valid":true}}"#,
            ],
        );
    }

    #[test]
    fn what_is_said_before_a_fix_is_kept_and_flagged() {
        check(
            &["GPRMC,000007,V,,,,,,,060180,,,N"],
            &[r#"{"time_fix":{"utc":"2080-01-06T00:00:07Z","source":"nmea","valid":false}}"#],
        );
        check(&["GPRMC,,V,,,,,,,,,,N"], &[]);
        check(
            &["GNZDA,150212.00,14,05,2026,00,00"],
            &[r#"{"time_fix":{"utc":"2026-05-14T15:02:12Z","source":"nmea","valid":false}}"#],
        );
    }

    #[test]
    fn a_receiver_without_rmc_still_tells_the_place() {
        let place = r#"{"position_fix":{"lat":41.41493833333333,"lon":-81.86139666666666,"alt_m":280.2,"speed_mps":null,"satellites":5,"hdop":1.5,"source":"nmea","valid":true}}"#;
        check(&[GGA, GGA, GGA, GGA], &[place]);
    }

    #[test]
    fn other_kinds_are_passed_over_and_damage_is_told_apart() {
        let mut reader = SentenceReader::new();
        assert_eq!(reader.read("$GPGSV,1,1,00*79"), Some(Vec::new()));
        assert_eq!(reader.read("$GPRMC,150211,A,4124.8963,N*00"), None);
        assert_eq!(reader.read("\u{fffd}\u{fffd}"), None);
    }
}
