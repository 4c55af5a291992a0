//! Prints everything that the command writes to standard output and standard error. Printing
//! does not panic when the reader goes away, and removes what would control a terminal.
//!
//! The names of files and trips, the logs of other programs, boards and servers can contain
//! any text. A character that would move the cursor, colour the screen or change the
//! direction of reading is written as its number, so that it is visible and has no effect. A
//! line stays one line whatever it contains, so that no name can forge one of our lines.

use std::borrow::Cow;
use std::io::{self, Write};

use anyhow::Result;
use serde::Serialize;

/// Prints one line. A line break in it is written as its number.
pub(crate) fn line(line: &str) -> Result<()> {
    out(&format!("{}\n", visible(line)))
}

/// Prints a text of several lines, such as a table. The caller has applied [`visible`] to the
/// parts of it that come from elsewhere.
pub(crate) fn text(text: &str) -> Result<()> {
    out(&visible_lines(text))
}

/// Prints a value as indented JSON.
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

/// Prints one line to standard error.
pub(crate) fn aside(line: &str) {
    // If nobody reads standard error, there is nobody to report that to.
    let _ = io::stderr().write_all(format!("{}\n", visible(line)).as_bytes());
}

/// Prints a warning to standard error.
pub(crate) fn warning(words: &str) {
    aside(&format!("jumpseat: warning: {words}"));
}

/// A text in which control characters of terminals and line breaks are written as numbers.
/// Letters of all scripts, blanks and backslashes are unchanged.
pub(crate) fn visible(text: &str) -> Cow<'_, str> {
    shown(text, |sign| is_command(sign) || sign == '\n')
}

/// As [`visible`], but line breaks are unchanged.
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

/// JSON in which control characters of terminals are written as numbers; they can occur only
/// inside its strings. The JSON writer itself does so only with characters before the blank.
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

/// Whether a character controls a terminal, changes the direction of reading, or ends a line
/// for some readers. The line break itself is not one of them. All are below U+10000.
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

    /// A text, how it is printed in a line, and how it is printed in JSON.
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
