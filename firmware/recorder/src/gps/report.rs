//! Converts gpsd's JSON reports (TPV, SKY) to time and position records. The fields are
//! those of gpsd_json(5).

use jumpseat_core::journal::{JournalEvent, PositionSource, TimeSource, clip};
use serde::Deserialize;

/// Reads the reports of one gpsd in order.
#[derive(Debug, Default)]
pub struct ReportReader {
    satellites: Option<u8>,
    hdop: Option<f32>,
}

#[derive(Deserialize)]
#[serde(tag = "class")]
enum GpsdReport {
    #[serde(rename = "TPV")]
    Tpv(TpvReport),
    #[serde(rename = "SKY")]
    Sky(SkyReport),
    #[serde(other)]
    Other,
}

#[derive(Deserialize)]
struct TpvReport {
    /// 0 unknown, 1 no fix, 2 two-dimensional, 3 with altitude.
    #[serde(default)]
    mode: u8,
    time: Option<String>,
    lat: Option<f64>,
    lon: Option<f64>,
    /// Above mean sea level, metres.
    #[serde(rename = "altMSL")]
    alt_msl: Option<f32>,
    /// The same from a gpsd before 3.20; later ones send both.
    alt: Option<f32>,
    speed: Option<f32>,
}

#[derive(Deserialize)]
struct SkyReport {
    hdop: Option<f32>,
    #[serde(rename = "uSat")]
    used: Option<u8>,
}

impl ReportReader {
    /// A reader without input so far.
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads one line. `None` for a line that is not a report.
    pub fn read(&mut self, line: &str) -> Option<Vec<JournalEvent>> {
        match serde_json::from_str(line).ok()? {
            GpsdReport::Tpv(tpv) => Some(self.tpv(&tpv)),
            GpsdReport::Sky(sky) => {
                // Some reports carry only some of the fields.
                self.hdop = sky.hdop.or(self.hdop);
                self.satellites = sky.used.or(self.satellites);
                Some(Vec::new())
            }
            GpsdReport::Other => Some(Vec::new()),
        }
    }

    fn tpv(&self, tpv: &TpvReport) -> Vec<JournalEvent> {
        let valid = tpv.mode >= 2;
        let mut events = Vec::new();
        if let Some(utc) = &tpv.time {
            events.push(JournalEvent::TimeFix {
                utc: clip(utc),
                source: TimeSource::Gpsd,
                valid,
                within_ms: None,
            });
        }
        if let (Some(lat), Some(lon)) = (tpv.lat, tpv.lon) {
            events.push(JournalEvent::PositionFix {
                lat,
                lon,
                alt_m: tpv.alt_msl.or(tpv.alt),
                speed_mps: tpv.speed,
                satellites: self.satellites,
                hdop: self.hdop,
                source: PositionSource::Gpsd,
                valid,
            });
        }
        events
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(lines: &[&str], expected: &[&str]) {
        let mut reader = ReportReader::new();
        let told: Vec<String> = lines
            .iter()
            .flat_map(|line| reader.read(line).unwrap())
            .map(|event| serde_json::to_string(&event).unwrap())
            .collect();
        assert_eq!(told, expected);
    }

    #[test]
    fn a_fix_tells_time_and_place_with_what_the_sky_said() {
        check(
            &[
                r#"{"class":"VERSION","release":"3.22"}"#,
                r#"{"class":"SKY","device":"/dev/x","hdop":1.5,"uSat":7,"nSat":9}"#,
                r#"{"class":"TPV","device":"/dev/x","mode":3,"time":"2026-05-14T15:02:11.000Z","lat":41.5,"lon":-81.25,"altHAE":246.5,"altMSL":280.5,"alt":280.5,"speed":10.25}"#,
            ],
            &[
                r#"{"time_fix":{"utc":"2026-05-14T15:02:11.000Z","source":"gpsd","valid":true}}"#,
                r#"{"position_fix":{"lat":41.5,"lon":-81.25,"alt_m":280.5,"speed_mps":10.25,"satellites":7,"hdop":1.5,"source":"gpsd","valid":true}}"#,
            ],
        );
    }

    #[test]
    fn a_time_without_a_fix_is_flagged() {
        check(
            &[r#"{"class":"TPV","mode":1,"time":"2006-08-22T00:00:00.000Z"}"#],
            &[r#"{"time_fix":{"utc":"2006-08-22T00:00:00.000Z","source":"gpsd","valid":false}}"#],
        );
        check(&[r#"{"class":"TPV","mode":1}"#], &[]);
    }

    #[test]
    fn what_is_no_report_is_told_apart() {
        assert_eq!(ReportReader::new().read("{\"class\":"), None);
        assert_eq!(ReportReader::new().read("$GPRMC,*00"), None);
    }
}
