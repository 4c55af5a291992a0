//! Tables for a terminal: plain columns, the last one wrapped to what is left.

/// Narrower than this the last column is not made; the terminal wraps it.
const LEAST: usize = 16;
/// Width where there is no terminal, such as in a file.
const USUAL: usize = 100;
/// Space between columns.
const GAP: &str = "  ";

/// Rows of cells under a heading; lines that stand across between rows.
pub(crate) struct Table {
    heading: Vec<&'static str>,
    rows: Vec<Row>,
}

enum Row {
    Cells(Vec<String>),
    Across(String),
}

impl Table {
    /// A table with these columns; the last one is the one that wraps.
    pub(crate) fn new(heading: &[&'static str]) -> Self {
        Self {
            heading: heading.to_vec(),
            rows: Vec::new(),
        }
    }

    /// Adds a row with a cell for each column.
    pub(crate) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(Row::Cells(cells));
    }

    /// Adds a line of its own, such as a date, with space above.
    pub(crate) fn across(&mut self, line: String) {
        self.rows.push(Row::Across(line));
    }

    /// The table for the terminal's width.
    pub(crate) fn text(&self) -> String {
        self.for_width(width())
    }

    fn for_width(&self, width: usize) -> String {
        let last = self.heading.len().saturating_sub(1);
        let heading: Vec<String> = self.heading.iter().map(|&cell| cell.to_owned()).collect();
        let cells = || {
            self.rows.iter().filter_map(|row| match row {
                Row::Cells(cells) => Some(cells),
                Row::Across(_) => None,
            })
        };
        let widths: Vec<usize> = (0..last)
            .map(|column| {
                std::iter::once(&heading)
                    .chain(cells())
                    .filter_map(|row| row.get(column))
                    .map(|cell| cell.chars().count())
                    .max()
                    .unwrap_or(0)
            })
            .collect();
        let used: usize = widths.iter().map(|width| width + GAP.len()).sum();
        let rest = width.saturating_sub(used).max(LEAST);
        let mut text = String::new();
        push(&mut text, &heading, &widths, rest);
        for row in &self.rows {
            match row {
                Row::Cells(cells) => push(&mut text, cells, &widths, rest),
                Row::Across(line) => text.push_str(&format!("\n{line}\n")),
            }
        }
        text
    }
}

/// Width of the terminal in characters.
pub(crate) fn width() -> usize {
    terminal_size::terminal_size().map_or(USUAL, |(width, _)| width.0.into())
}

/// Writes a row; the last cell takes as many lines as it needs.
fn push(text: &mut String, cells: &[String], widths: &[usize], rest: usize) {
    let indent: usize = widths.iter().map(|width| width + GAP.len()).sum();
    let mut line = String::new();
    for (cell, width) in cells.iter().zip(widths) {
        line.push_str(&format!("{cell:<width$}{GAP}"));
    }
    let wrapped = wrap(cells.get(widths.len()).map_or("", String::as_str), rest);
    for (index, part) in wrapped.iter().enumerate() {
        if index > 0 {
            line = " ".repeat(indent);
        }
        line.push_str(part);
        text.push_str(line.trim_end());
        text.push('\n');
    }
}

/// Breaks at spaces; a longer word stands on a line of its own. At least one line.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if used > 0 && used + 1 + length > width {
            lines.push(String::new());
            used = 0;
        }
        if let Some(line) = lines.last_mut() {
            if used > 0 {
                line.push(' ');
                used += 1;
            }
            line.push_str(word);
            used += length;
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_column_wraps_to_what_is_left() {
        let mut table = Table::new(&["No", "Call", "Doubts"]);
        table.row(vec![
            "1".into(),
            "KB0QSE".into(),
            "one two three four five six".into(),
        ]);
        table.across("2026-05-14".into());
        table.row(vec!["12".into(), "-".into(), String::new()]);
        let expected = "\
No  Call    Doubts
1   KB0QSE  one two three
            four five six

2026-05-14
12  -
";
        assert_eq!(table.for_width(28), expected);
        // Too narrow for anything: the last column keeps its least width.
        assert_eq!(table.for_width(3), expected);
    }

    #[test]
    fn wrapping_keeps_every_word() {
        for (text, width, expected) in [
            ("", 5, vec![""]),
            ("a b c", 3, vec!["a b", "c"]),
            ("unbreakable word", 4, vec!["unbreakable", "word"]),
            ("ÄÖÜ äöü", 7, vec!["ÄÖÜ äöü"]),
        ] {
            assert_eq!(wrap(text, width), expected);
        }
    }
}
