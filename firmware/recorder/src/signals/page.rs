//! The table of lamp and sounder as a page for people.

use std::fmt::Write as _;

use jumpseat_core::signal::{PATTERNS, SignalBeat};

const HEAD: &str = "\
# What the lamp and the sounder say

Made from the code by `jumpseat-recorder signals`; a test compares the two. The most
urgent comes first: of several states that last, the first one has the lamp and
sounds first. The answer to a press breaks off whatever sounds. Soon after the start
the self-test sounds: *recording*, or the reason why not. No press of the button can
stop or erase anything: a short one marks, one of two seconds takes the last mark
back, and both stay in the journal.

`.` is a short tone, `-` a long one.

| sound | meaning | again after | lamp | what to do |
| --- | --- | --- | --- | --- |
";

/// The page, in Markdown.
pub fn page() -> String {
    let mut page = HEAD.to_owned();
    for pattern in &PATTERNS {
        let tones: String = pattern.sound.iter().map(tone).collect();
        let again = pattern
            .repeat_s
            .map_or_else(|| "once".to_owned(), |seconds| format!("{seconds} s"));
        let (meaning, advice) = (pattern.meaning, pattern.advice);
        let light = light(pattern.light);
        // Writing to a string cannot fail.
        let _written = writeln!(
            page,
            "| `{tones}` | {meaning} | {again} | {light} | {advice} |"
        );
    }
    page
}

fn tone(beat: &SignalBeat) -> char {
    if beat.on_ms < 200 { '.' } else { '-' }
}

/// Seconds on and off.
fn light(beats: &[SignalBeat]) -> String {
    match beats {
        [] => "as it was".to_owned(),
        [SignalBeat { off_ms: 0, .. }] => "steady".to_owned(),
        _ => {
            let seconds = |ms: u16| f64::from(ms) / 1_000.0;
            let parts: Vec<String> = beats
                .iter()
                .map(|beat| format!("{} on, {} off", seconds(beat.on_ms), seconds(beat.off_ms)))
                .collect();
            parts.join(", ") + " (s)"
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;

    #[test]
    fn the_signals_page_in_the_docs_is_that_of_the_code() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../signals.md");
        let written = std::fs::read_to_string(path).unwrap();
        assert_eq!(
            written,
            page(),
            "run: jumpseat-recorder signals > firmware/signals.md"
        );
    }
}
