//! What is said to a person or a script, all of it through here: nothing panics when the
//! reader goes away, and nothing that a terminal obeys comes through.
//!
//! Names of files and trips, logs of other programs, boards and servers say what they
//! like. A sign among it that would move the cursor, colour the screen or turn the
//! direction of reading is written as its number, so that it is seen and does nothing. A
//! line stays one line whatever stands in it, so that no name can forge a line of ours.

use std::borrow::Cow;
use std::io::{self, Write};

use anyhow::Result;
use serde::Serialize;

/// Prints one line; what would break it is shown.
pub(crate) fn line(line: &str) -> Result<()> {
    out(&format!("{}\n", visible(line)))
}

/// Prints several lines, such as a table; they end where the text says. What comes from
/// elsewhere has been made [`visible`] before it is put into such a text.
pub(crate) fn text(text: &str) -> Result<()> {
    out(&visible_lines(text))
}

/// Prints a value as JSON, readable by people too.
pub(crate) fn json<T: Serialize>(value: &T) -> Result<()> {
    out(&format!(
        "{}\n",
        plain_json(&serde_json::to_string_pretty(value)?)
    ))
}

/// Prints a value as JSON in one line.
pub(crate) fn json_line<T: Serialize>(value: &T) -> Result<()> {
    out(&format!("{}\n", plain_json(&serde_json::to_string(value)?)))
}

/// Says one line on standard error.
pub(crate) fn aside(line: &str) {
    // Where nobody reads standard error there is nobody to tell that to.
    let _ = io::stderr().write_all(format!("{}\n", visible(line)).as_bytes());
}

/// Says on standard error what went wrong beside the work itself.
pub(crate) fn warning(words: &str) {
    aside(&format!("jumpseat: warning: {words}"));
}

/// A text with every sign visible that a terminal obeys or that is no part of a line.
/// Letters of all scripts, blanks and backslashes stay as they are.
pub(crate) fn visible(text: &str) -> Cow<'_, str> {
    shown(text, |sign| is_command(sign) || sign == '\n')
}

/// The same, but for the ends of lines.
fn visible_lines(text: &str) -> Cow<'_, str> {
    shown(text, is_command)
}

fn shown(text: &str, hidden: impl Fn(char) -> bool) -> Cow<'_, str> {
    if !text.contains(&hidden) {
        return Cow::Borrowed(text);
    }
    let mut said = String::with_capacity(text.len() + 8);
    for sign in text.chars() {
        if hidden(sign) {
            said.extend(sign.escape_default());
        } else {
            said.push(sign);
        }
    }
    Cow::Owned(said)
}

/// What stands in JSON only within its texts, where it can be written as a number. JSON's
/// own writer does so with the signs before the blank alone.
fn plain_json(json: &str) -> Cow<'_, str> {
    let hidden = |sign: char| is_command(sign);
    if !json.contains(hidden) {
        return Cow::Borrowed(json);
    }
    let mut said = String::with_capacity(json.len() + 8);
    for sign in json.chars() {
        if hidden(sign) {
            said.push_str(&format!("\\u{:04x}", u32::from(sign)));
        } else {
            said.push(sign);
        }
    }
    Cow::Owned(said)
}

/// Signs that a terminal obeys, that turn the direction of reading, or that end a line
/// for some readers. The end of a line itself is none of them. All are below U+10000.
/// (Control characters and bidirectional controls: Unicode 16, chapters 23.1 and 23.2.)
fn is_command(sign: char) -> bool {
    sign != '\n'
        && (sign.is_control()
            || matches!(sign,
                '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
}

fn out(text: &str) -> Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A text, how it stands in a line, and how it stands in JSON.
    #[track_caller]
    fn check(text: &str, line: &str, json: &str) {
        assert_eq!(visible(text), line);
        let written = serde_json::to_string(text).unwrap();
        let written = plain_json(&written);
        assert_eq!(written, format!("\"{json}\""));
        assert_eq!(serde_json::from_str::<String>(&written).unwrap(), text);
    }

    #[test]
    fn what_a_terminal_obeys_is_shown() {
        for same in ["", "KB0QSE 59/57", "Grüße, 東京 שלום", "±0.5 s"] {
            check(same, same, same);
        }
        check("C:\\new", "C:\\new", "C:\\\\new");
        check("\u{1b}[2J", "\\u{1b}[2J", "\\u001b[2J");
        check(
            "\u{1b}]52;c;x\u{7}",
            "\\u{1b}]52;c;x\\u{7}",
            "\\u001b]52;c;x\\u0007",
        );
        check("\u{9b}31m", "\\u{9b}31m", "\\u009b31m");
        check("a\r\u{8}b\0", "a\\r\\u{8}b\\u{0}", "a\\r\\bb\\u0000");
        check("a\tb", "a\\tb", "a\\tb");
        check("\u{7f}\u{85}", "\\u{7f}\\u{85}", "\\u007f\\u0085");
        check("abc\u{202e}cba", "abc\\u{202e}cba", "abc\\u202ecba");
        for sign in "\u{61c}\u{200e}\u{200f}\u{2028}\u{2029}\u{202a}\u{2066}\u{2069}".chars() {
            let number = u32::from(sign);
            check(
                &sign.to_string(),
                &format!("\\u{{{number:x}}}"),
                &format!("\\u{number:04x}"),
            );
        }
    }

    #[test]
    fn a_line_stays_one_and_a_text_keeps_its_lines() {
        check(
            "trip\n  doubt: none",
            "trip\\n  doubt: none",
            "trip\\n  doubt: none",
        );
        assert_eq!(visible_lines("one\ntwo\r\n\u{1b}"), "one\ntwo\\r\n\\u{1b}");
    }
}
