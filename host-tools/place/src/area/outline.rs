//! Borders to draw a map with.

use super::map::MapLayer;
use super::sources;
use jumpseat_values::Position;

/// A run of border.
#[derive(Debug, Clone, PartialEq)]
pub struct BorderOutline {
    /// Between counties; else between countries, or a shore.
    pub county: bool,
    /// Its points in order, at least two.
    pub points: Vec<Position>,
}

/// What can be seen of all borders in a window from its south-west to its north-east
/// corner. Pieces that only touch the window are in it whole. A window does not reach
/// across the 180th meridian.
pub fn outlines(south_west: Position, north_east: Position) -> Vec<BorderOutline> {
    let mut found = Vec::new();
    for (index, layer) in sources().iter().enumerate() {
        // Counties first, as in the file.
        layer.within(south_west, north_east, index == 0, &mut found);
    }
    found
}

impl MapLayer<'_> {
    fn within(&self, low: Position, high: Position, county: bool, found: &mut Vec<BorderOutline>) {
        let grid = |at: Position| {
            [
                (at.lon() - self.translate[0]) / self.scale[0],
                (at.lat() - self.translate[1]) / self.scale[1],
            ]
        };
        let (low, high) = (grid(low), grid(high));
        let beyond = |one: [i32; 2], two: [i32; 2]| {
            (0..2).any(|axis| {
                let (a, b) = (f64::from(one[axis]), f64::from(two[axis]));
                a.max(b) < low[axis] || a.min(b) > high[axis]
            })
        };
        for (index, line) in self.lines.iter().enumerate() {
            let from = line.first as usize;
            let to = match self.lines.get(index + 1) {
                Some(next) => next.first as usize,
                None => self.points.len(),
            };
            let mut run: Vec<Position> = Vec::new();
            for pair in self.points.get(from..to).unwrap_or_default().windows(2) {
                let (one, two) = (pair[0], pair[1]);
                if beyond(one, two) {
                    take(&mut run, county, found);
                    continue;
                }
                if run.is_empty() {
                    run.extend(self.position(one));
                }
                run.extend(self.position(two));
            }
            take(&mut run, county, found);
        }
    }

    fn position(&self, point: [i32; 2]) -> Option<Position> {
        Position::new(
            f64::from(point[1]) * self.scale[1] + self.translate[1],
            f64::from(point[0]) * self.scale[0] + self.translate[0],
        )
    }
}

fn take(run: &mut Vec<Position>, county: bool, found: &mut Vec<BorderOutline>) {
    let points = std::mem::take(run);
    if points.len() > 1 {
        found.push(BorderOutline { county, points });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(lat: f64, lon: f64) -> Position {
        Position::new(lat, lon).unwrap()
    }

    /// Wyoming's border with Colorado is the 41st parallel (the statute of 1868).
    #[test]
    fn a_state_line_lies_where_it_is_surveyed() {
        let found = outlines(at(40.9, -108.0), at(41.1, -106.0));
        assert!(found.iter().all(|outline| outline.points.len() > 1));
        let along = found
            .iter()
            .filter(|outline| outline.county)
            .flat_map(|outline| &outline.points)
            .filter(|point| (point.lat() - 41.0).abs() < 0.02)
            .count();
        assert!(along > 2, "{along}");
    }

    #[test]
    fn far_at_sea_there_is_nothing_to_draw() {
        assert_eq!(outlines(at(-45.0, -130.0), at(-44.0, -129.0)), []);
    }
}
