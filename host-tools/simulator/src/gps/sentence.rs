//! Sentences of NMEA 0183: RMC, GGA and GSA.

use chrono::{DateTime, Utc};

use crate::scenario::TruePosition;

/// What a receiver knows in one second.
#[derive(Debug, Clone, Copy)]
pub struct ReceiverKnowledge {
    /// Its date and time; none before it heard one.
    pub utc: Option<DateTime<Utc>>,
    /// Its place; none without a fix.
    pub fix: Option<SimulatedFix>,
}

/// A fix.
#[derive(Debug, Clone, Copy)]
pub struct SimulatedFix {
    /// Where.
    pub place: TruePosition,
    /// Metres above the sea.
    pub height_m: f64,
    /// Metres per second over ground.
    pub speed_mps: f64,
    /// Degrees from true north.
    pub course: f64,
    /// Horizontal dilution of precision.
    pub hdop: f64,
}

/// The sentences of one second, without line ends: RMC, GGA, GSA.
pub fn sentences_of_second(knowledge: &ReceiverKnowledge) -> [String; 3] {
    [rmc(knowledge), gga(knowledge), gsa(knowledge)]
}

fn rmc(knowledge: &ReceiverKnowledge) -> String {
    let (time, date) = match knowledge.utc {
        Some(utc) => (
            utc.format("%H%M%S.00").to_string(),
            utc.format("%d%m%y").to_string(),
        ),
        None => Default::default(),
    };
    match knowledge.fix {
        Some(fix) => {
            let knots = fix.speed_mps * 3_600.0 / 1_852.0;
            let place = place(fix.place);
            frame(&format!(
                "GPRMC,{time},A,{place},{knots:.2},{:.1},{date},,,A",
                fix.course
            ))
        }
        None => frame(&format!("GPRMC,{time},V,,,,,,,{date},,,N")),
    }
}

fn gga(knowledge: &ReceiverKnowledge) -> String {
    let time = match knowledge.utc {
        Some(utc) => utc.format("%H%M%S.00").to_string(),
        None => String::new(),
    };
    match knowledge.fix {
        Some(fix) => {
            let place = place(fix.place);
            frame(&format!(
                "GPGGA,{time},{place},1,08,{:.1},{:.1},M,-15.2,M,,",
                fix.hdop, fix.height_m
            ))
        }
        None => frame(&format!("GPGGA,{time},,,,,0,00,99.9,,M,,M,,")),
    }
}

fn gsa(knowledge: &ReceiverKnowledge) -> String {
    match knowledge.fix {
        Some(fix) => {
            let hdop = fix.hdop;
            frame(&format!(
                "GPGSA,A,3,02,05,12,15,18,24,25,29,,,,,{:.1},{hdop:.1},{:.1}",
                hdop * 1.8,
                hdop * 1.5
            ))
        }
        None => frame("GPGSA,A,1,,,,,,,,,,,,,99.9,99.9,99.9"),
    }
}

/// Latitude and longitude in degrees and minutes: "4132.6400,N,10942.6000,W".
fn place(place: TruePosition) -> String {
    let part = |degrees: f64, width: usize, letters: [char; 2]| {
        // Rounded first, so that 59.99999 minutes do not become 60.
        let total = (degrees.abs() * 600_000.0).round() as u64;
        let (whole, minutes) = (total / 600_000, total % 600_000);
        let letter = letters[usize::from(degrees < 0.0)];
        format!(
            "{whole:0width$}{:02}.{:04},{letter}",
            minutes / 10_000,
            minutes % 10_000
        )
    };
    format!(
        "{},{}",
        part(place.lat, 2, ['N', 'S']),
        part(place.lon, 3, ['E', 'W'])
    )
}

/// Adds the dollar sign and the checksum: exclusive-or of all between $ and *.
pub fn frame(body: &str) -> String {
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("${body}*{sum:02X}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_that_of_published_sentences() {
        // Examples that receivers' manuals print (RMC of the Apollo, GGA of the same).
        assert_eq!(
            frame("GPRMC,081836,A,3751.65,S,14507.36,E,000.0,360.0,130998,011.3,E"),
            "$GPRMC,081836,A,3751.65,S,14507.36,E,000.0,360.0,130998,011.3,E*62"
        );
        assert_eq!(
            frame("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"),
            "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
        );
    }

    #[test]
    fn minutes_are_rounded_into_degrees() {
        let at = |lat, lon| place(TruePosition { lat, lon });
        assert_eq!(at(41.544, -109.71), "4132.6400,N,10942.6000,W");
        assert_eq!(at(-0.999_999_99, 9.5), "0100.0000,S,00930.0000,E");
    }

    #[test]
    fn no_sentence_is_longer_than_82_characters() {
        let fix = SimulatedFix {
            place: TruePosition {
                lat: 41.5,
                lon: -109.7,
            },
            height_m: 1_890.0,
            speed_mps: 31.0,
            course: 271.3,
            hdop: 12.9,
        };
        let knowledge = ReceiverKnowledge {
            utc: Some(Utc::now()),
            fix: Some(fix),
        };
        for sentence in sentences_of_second(&knowledge) {
            assert!(sentence.len() + 2 <= 82, "{sentence}");
        }
    }
}
