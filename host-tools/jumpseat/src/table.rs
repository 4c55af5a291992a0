//! Tables for a terminal: plain columns, the last of them wrapped to the rest of the width. No
//! cell can control the terminal.

use crate::print::visible;

/// Least width of the last column; on a narrower terminal the terminal wraps it.
const MIN_LAST_COLUMN: usize = 16;
/// Width without a terminal, such as in a file.
const DEFAULT_WIDTH: usize = 100;
/// Space between columns.
const COLUMN_GAP: &str = "  ";
/// Space before a line that belongs to the row above.
const UNDER_INDENT: &str = "      ";

/// Rows of cells under a heading, with lines across the table between them.
pub(crate) struct TextTable {
    heading: Vec<&'static str>,
    rows: Vec<TextTableRow>,
    spare: Vec<usize>,
}

enum TextTableRow {
    Cells(Vec<String>),
    Across(String),
    Under(String),
}

impl TextTable {
    /// A table with these columns, the last of which wraps.
    pub(crate) fn new(heading: &[&'static str]) -> Self {
        Self {
            heading: heading.to_vec(),
            rows: Vec::new(),
            spare: Vec::new(),
        }
    }

    /// Sets the columns to leave out on a narrow terminal, in this order; not the last column.
    pub(crate) fn spare(mut self, columns: &[usize]) -> Self {
        self.spare = columns.to_vec();
        self
    }

    /// Adds a row with a cell for each column.
    pub(crate) fn row(&mut self, cells: Vec<String>) {
        let cells = cells.iter().map(|cell| visible(cell).into_owned());
        self.rows.push(TextTableRow::Cells(cells.collect()));
    }

    /// Adds a line across the table, such as a date, with space above.
    pub(crate) fn across(&mut self, line: String) {
        self.rows
            .push(TextTableRow::Across(visible(&line).into_owned()));
    }

    /// Adds a line that belongs to the row above, wrapped to the table's width.
    pub(crate) fn under(&mut self, line: &str) {
        self.rows
            .push(TextTableRow::Under(visible(line).into_owned()));
    }

    /// The table for the terminal's width.
    pub(crate) fn text(&self) -> String {
        self.for_width(width())
    }

    fn for_width(&self, width: usize) -> String {
        let heading: Vec<String> = self.heading.iter().map(|&cell| cell.to_owned()).collect();
        let widths: Vec<usize> = (0..heading.len())
            .map(|column| {
                std::iter::once(&heading)
                    .chain(self.rows.iter().filter_map(|row| match row {
                        TextTableRow::Cells(cells) => Some(cells),
                        TextTableRow::Across(_) | TextTableRow::Under(_) => None,
                    }))
                    .filter_map(|row| row.get(column))
                    .map(|cell| cell.chars().count())
                    .max()
                    .unwrap_or(0)
            })
            .collect();
        let (mut columns, last) = split(&widths);
        let used = |columns: &[(usize, usize)]| -> usize {
            columns
                .iter()
                .map(|(_, width)| width + COLUMN_GAP.len())
                .sum()
        };
        for &spare in &self.spare {
            if used(&columns) + last.min(MIN_LAST_COLUMN) > width {
                columns.retain(|&(column, _)| column != spare);
            }
        }
        let rest = width.saturating_sub(used(&columns)).max(MIN_LAST_COLUMN);
        let mut text = String::new();
        push(&mut text, &heading, &columns, rest);
        for row in &self.rows {
            match row {
                TextTableRow::Cells(cells) => push(&mut text, cells, &columns, rest),
                TextTableRow::Across(line) => text.push_str(&format!("\n{line}\n")),
                TextTableRow::Under(line) => {
                    let room = width
                        .saturating_sub(UNDER_INDENT.len())
                        .max(MIN_LAST_COLUMN);
                    for part in wrap(line, room) {
                        text.push_str(&format!("{UNDER_INDENT}{part}\n"));
                    }
                }
            }
        }
        text
    }
}

/// The columns but the last, each with its width, and the width of the last.
fn split(widths: &[usize]) -> (Vec<(usize, usize)>, usize) {
    match widths.split_last() {
        Some((&last, before)) => (before.iter().copied().enumerate().collect(), last),
        None => (Vec::new(), 0),
    }
}

/// Width of the terminal in characters.
fn width() -> usize {
    terminal_size::terminal_size().map_or(DEFAULT_WIDTH, |(width, _)| width.0.into())
}

/// Writes the cells of these columns, each with its width; the last cell of the row takes
/// as many lines as it needs.
fn push(text: &mut String, cells: &[String], columns: &[(usize, usize)], rest: usize) {
    let indent: usize = columns
        .iter()
        .map(|(_, width)| width + COLUMN_GAP.len())
        .sum();
    let mut line = String::new();
    for &(column, width) in columns {
        let cell = cells.get(column).map_or("", String::as_str);
        line.push_str(&format!("{cell:<width$}{COLUMN_GAP}"));
    }
    let wrapped = wrap(cells.last().map_or("", String::as_str), rest);
    for (index, part) in wrapped.iter().enumerate() {
        if index > 0 {
            line = " ".repeat(indent);
        }
        line.push_str(part);
        text.push_str(line.trim_end());
        text.push('\n');
    }
}

/// Breaks a text at spaces; a word that is too long gets its own line. Returns at least one
/// line.
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
        let mut table = TextTable::new(&["No", "Call", "Doubts"]);
        table.row(vec![
            "1".into(),
            "KB0QSE".into(),
            "one two three four five six".into(),
        ]);
        table.across("2026-05-14".into());
        table.row(vec!["12".into(), "-".into(), String::new()]);
        table.under("seven eight nine ten eleven");
        let expected = "\
No  Call    Doubts
1   KB0QSE  one two three
            four five six

2026-05-14
12  -
      seven eight nine ten
      eleven
";
        assert_eq!(table.for_width(28), expected);
        // Too narrow for anything: the last column keeps its least width.
        let narrow = table.for_width(3);
        assert_eq!(
            narrow,
            expected.replace("nine ten\n      ", "nine\n      ten ")
        );
    }

    #[test]
    fn a_narrow_terminal_does_without_spare_columns() {
        let mut table = TextTable::new(&["No", "Name", "Area", "Doubts"]).spare(&[2, 1]);
        table.row(vec![
            "1".into(),
            "Ruth".into(),
            "Uinta".into(),
            "one".into(),
        ]);
        for (width, heading) in [
            (23, "No  Name  Area   Doubts"),
            (22, "No  Name  Doubts"),
            (16, "No  Name  Doubts"),
            (15, "No  Doubts"),
            (3, "No  Doubts"),
        ] {
            let text = table.for_width(width);
            assert_eq!(text.lines().next(), Some(heading), "{width}");
        }
    }

    #[test]
    fn a_cell_neither_ends_a_row_nor_commands_the_terminal() {
        let mut table = TextTable::new(&["Trip", "Marks"]);
        table.across("trip\n1".into());
        table.row(vec!["a\nb".into(), "\u{1b}[2J\r1\n2".into()]);
        table.under("c\nd");
        let expected = "\
Trip  Marks

trip\\n1
a\\nb  \\u{1b}[2J\\r1\\n2
      c\\nd
";
        assert_eq!(table.for_width(80), expected);
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
