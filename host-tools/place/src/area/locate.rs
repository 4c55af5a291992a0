//! Which area holds a position, and which others are near.

use super::map::{BorderLine, MapLayer};
use jumpseat_values::Position;

/// Metres in a degree of latitude on a sphere of the earth's mean radius. Over the few
/// kilometres measured here the earth's flattening does not matter (0.6 %).
const METRES_PER_DEGREE: f64 = 111_195.0;

/// Another area close by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NearArea {
    /// Number of the area; 0 for what is outside all areas of the layer.
    pub(super) area: u32,
    /// Distance to the nearest piece of its border, in metres.
    pub(super) metres: f64,
}

impl MapLayer<'_> {
    /// Position in grid steps.
    fn grid(&self, position: Position) -> [f64; 2] {
        [
            (position.lon() - self.translate[0]) / self.scale[0],
            (position.lat() - self.translate[1]) / self.scale[1],
        ]
    }

    /// The two ends of a piece, in grid steps.
    fn ends(&self, piece: u32) -> ([f64; 2], [f64; 2]) {
        let at = |index: usize| self.points[index].map(f64::from);
        (at(piece as usize), at(piece as usize + 1))
    }

    /// Number of the area that holds the position, 0 for none.
    ///
    /// Of the pieces that cross the position's latitude, the nearest to the west decides;
    /// when there is none before the map's edge, the search goes on round the earth from the
    /// far east.
    pub(super) fn area_at(&self, position: Position) -> u32 {
        let [x, y] = self.grid(position);
        let mut west: Option<(f64, u32)> = None;
        let mut far_east: Option<(f64, u32)> = None;
        for &piece in self.pieces_between(y, y) {
            let (a, b) = self.ends(piece);
            if (a[1] <= y) == (b[1] <= y) || piece >= self.specks_from {
                continue;
            }
            let crossing = a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]);
            let best = if crossing <= x {
                &mut west
            } else {
                &mut far_east
            };
            if best.is_none_or(|(found, _)| crossing > found) {
                *best = Some((crossing, piece));
            }
        }
        let Some((_, piece)) = west.or(far_east) else {
            return if y < 0.0 { self.polar } else { 0 };
        };
        let BorderLine { left, right, .. } = self.line_of(piece);
        let northward = self.points[piece as usize + 1][1] > self.points[piece as usize][1];
        if northward { right } else { left }
    }

    /// The other areas whose border passes within `reach_m` metres, nearest first. What
    /// lies outside all areas counts as area 0.
    pub(super) fn near(&self, position: Position, own: u32, reach_m: f64) -> Vec<NearArea> {
        let [x, y] = self.grid(position);
        let metres_y = self.scale[1] * METRES_PER_DEGREE;
        let metres_x =
            self.scale[0] * METRES_PER_DEGREE * position.lat().to_radians().cos().max(1e-6);
        let (reach_x, reach_y) = (reach_m / metres_x, reach_m / metres_y);
        let period = 360.0 / self.scale[0];
        let mut found: Vec<NearArea> = Vec::new();
        for &piece in self.pieces_between(y - reach_y, y + reach_y) {
            let (a, b) = self.ends(piece);
            if a[1].max(b[1]) < y - reach_y || a[1].min(b[1]) > y + reach_y {
                continue;
            }
            // a border just across the 180th meridian is a whole turn away on the grid
            let turn = ((x - a[0]) / period).round() * period;
            let (west, east) = (a[0].min(b[0]) + turn, a[0].max(b[0]) + turn);
            if east < x - reach_x || west > x + reach_x {
                continue;
            }
            let to_metres =
                |end: [f64; 2]| [(end[0] + turn - x) * metres_x, (end[1] - y) * metres_y];
            let metres = from_origin(to_metres(a), to_metres(b));
            if metres > reach_m {
                continue;
            }
            let line = self.line_of(piece);
            for area in [line.left, line.right] {
                if area == own {
                    continue;
                }
                match found.iter_mut().find(|near| near.area == area) {
                    Some(near) => near.metres = near.metres.min(metres),
                    None => found.push(NearArea { area, metres }),
                }
            }
        }
        found.sort_by(|a, b| a.metres.total_cmp(&b.metres).then(a.area.cmp(&b.area)));
        found
    }
}

/// Distance from the origin to the straight piece between two points of a plane.
fn from_origin(a: [f64; 2], b: [f64; 2]) -> f64 {
    let along = [b[0] - a[0], b[1] - a[1]];
    let length_squared = along[0] * along[0] + along[1] * along[1];
    let share = if length_squared > 0.0 {
        (-(a[0] * along[0] + a[1] * along[1]) / length_squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (a[0] + share * along[0]).hypot(a[1] + share * along[1])
}
