//! Finds the pieces of border near a latitude, by bands.

use super::map::{BorderLine, MapLayer};

/// Height of a band in grid steps of latitude. Small bands mean fewer pieces to look at and
/// a longer index, and more bands for a search that reaches some kilometres. Of 8 to 128, 32
/// steps (3 to 6 km) took the fewest instructions over 8,000 positions (callgrind).
const INDEX_BAND_STEPS: i32 = 32;

impl MapLayer<'_> {
    /// Lists every piece under each band that it touches: counted first, then placed. False
    /// when the list would be out of all proportion, as only damaged data makes it.
    pub(super) fn index(&mut self) -> bool {
        let top = self.points.iter().map(|point| point[1]).max().unwrap_or(0);
        let mut starts = vec![0u32; (top / INDEX_BAND_STEPS) as usize + 2];
        self.each_piece(|low, high, _| {
            for band in low..=high {
                starts[band + 1] += 1;
            }
        });
        let mut total = 0u32;
        for count in &mut starts {
            total = total.saturating_add(*count);
            *count = total;
        }
        if total as usize > 16 * self.points.len() {
            return false;
        }
        let mut next = starts.clone();
        let mut pieces = vec![0u32; total as usize];
        self.each_piece(|low, high, first| {
            for slot in &mut next[low..=high] {
                pieces[*slot as usize] = first;
                *slot += 1;
            }
        });
        self.band_starts = starts;
        self.pieces = pieces;
        true
    }

    /// Calls with the lowest and highest band of each piece and the number of its first point.
    fn each_piece(&self, mut visit: impl FnMut(usize, usize, u32)) {
        for (number, line) in self.lines.iter().enumerate() {
            let end = self
                .lines
                .get(number + 1)
                .map_or(self.points.len(), |next| next.first as usize);
            for first in line.first as usize..end.saturating_sub(1) {
                let (a, b) = (
                    self.points[first][1] / INDEX_BAND_STEPS,
                    self.points[first + 1][1] / INDEX_BAND_STEPS,
                );
                visit(a.min(b) as usize, a.max(b) as usize, first as u32);
            }
        }
    }

    /// The pieces (numbers of their first points) that may touch grid latitudes from `low`
    /// to `high`; a piece that spans several bands comes several times.
    pub(super) fn pieces_between(&self, low: f64, high: f64) -> &[u32] {
        let bands = self.band_starts.len().saturating_sub(1);
        let band = |y: f64| (y.max(0.0) / f64::from(INDEX_BAND_STEPS)) as usize;
        if high < 0.0 || band(low) >= bands {
            return &[];
        }
        let start = self.band_starts[band(low)] as usize;
        let end = self.band_starts[band(high).min(bands - 1) + 1] as usize;
        &self.pieces[start..end]
    }

    /// The line to which the piece with this first point belongs.
    pub(super) fn line_of(&self, piece: u32) -> BorderLine {
        let after = self.lines.partition_point(|line| line.first <= piece);
        self.lines[after.saturating_sub(1)]
    }
}
