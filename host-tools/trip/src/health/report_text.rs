//! A report in plain words.

use std::fmt;

use super::report::{HealthReport, HealthVerdict};

impl fmt::Display for HealthVerdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Good => "good",
            Self::Doubtful => "usable with doubts",
            Self::Broken => "broken",
        })
    }
}

impl fmt::Display for HealthReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.lines()
            .iter()
            .try_for_each(|line| writeln!(f, "{line}"))
    }
}

impl HealthReport {
    /// The report in plain words, line by line. It holds texts from the trip
    /// unchanged, so a line may contain a line break.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![
            format!("{}: {}", self.trip, self.verdict),
            format!(
                "  audio     {} of {}: {} received in {} overs, {} transmitted in {}; {} lost",
                span(self.rx_s + self.tx_s),
                span(self.length_s),
                span(self.rx_s),
                self.rx_overs,
                span(self.tx_s),
                self.tx_overs,
                span(self.lost_s)
            ),
            self.time(),
            format!(
                "  place     {} fixes, at most {} without one",
                self.place.fixes,
                span(self.place.longest_without_s)
            ),
            format!(
                "  dial      {} setting{}, known in {} of {} overs",
                self.dial.changes,
                if self.dial.changes == 1 { "" } else { "s" },
                self.dial.overs_known,
                self.rx_overs + self.tx_overs
            ),
        ];
        for (name, level) in [("receive", &self.rx), ("transmit", &self.tx)] {
            lines.extend(level.as_ref().map(|level| {
                format!(
                    "  {name:<9} speech {:.0} dBFS, background {:.0} dBFS, peak {:.0} dBFS, {:.3} % clipped",
                    level.loud_dbfs,
                    level.quiet_dbfs,
                    level.peak_dbfs,
                    level.clipped * 100.0
                )
            }));
        }
        lines.push(format!("  marks     {}", self.marks));
        lines.extend(self.faults.iter().map(|fault| {
            format!(
                "  trouble   {} ({} times, {})",
                fault.detail,
                fault.times,
                if fault.lasting { "to the end" } else { "over" }
            )
        }));
        lines.extend(list("damage", &self.damage));
        lines.extend(list("doubt", &self.doubts));
        lines
    }

    fn time(&self) -> String {
        let span = match (&self.time.start, &self.time.end) {
            (Some(start), Some(end)) => format!("{start} to {end}"),
            _ => "unknown".to_owned(),
        };
        let worst = self.time.worst_uncertainty_s;
        let worst = worst.map(|worst| format!(", ±{worst:.3} s at worst"));
        let quality = &self.time.quality;
        format!(
            "  time      {span}{}; {} time fixes ({} ignored, {} not valid)",
            worst.unwrap_or_default(),
            quality.fixes,
            quality.ignored,
            quality.unconfirmed
        )
    }
}

/// At most this many lines of a list are printed.
const MOST_LISTED_LINES: usize = 20;

fn list(name: &str, list: &[impl fmt::Display]) -> Vec<String> {
    let shown = list.iter().take(MOST_LISTED_LINES);
    let mut lines: Vec<String> = shown.map(|line| format!("  {name:<9} {line}")).collect();
    let more = list.len().saturating_sub(MOST_LISTED_LINES);
    if more > 0 {
        lines.push(format!("  {name:<9} and {more} more"));
    }
    lines
}

/// Seconds as a person says them: "12.3 s", "4 min 05 s", "2 h 03 min".
fn span(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match whole {
        0..60 => format!("{seconds:.1} s"),
        60..3600 => format!("{} min {:02} s", whole / 60, whole % 60),
        _ => format!("{} h {:02} min", whole / 3600, whole / 60 % 60),
    }
}

#[cfg(test)]
mod tests {
    use super::span;

    #[test]
    fn spans_read_like_speech() {
        let said = [0.0, 12.34, 59.6, 245.0, 7380.0].map(span);
        assert_eq!(
            said,
            ["0.0 s", "12.3 s", "1 min 00 s", "4 min 05 s", "2 h 03 min"]
        );
    }
}
