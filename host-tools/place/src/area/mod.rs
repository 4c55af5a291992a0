//! The administrative area of a position: the county in the United States, the country
//! elsewhere.
//!
//! The map is part of the program (`data/areas.bin`, 1.2 MB; sources, licences and layout in
//! `data/README.md`). It holds no first-level regions outside the United States: the
//! public-domain source that we use has countries only. Counties come from the 2017 edition,
//! so Connecticut has its eight counties, not the planning regions of 2022.

mod combine;
mod county;
mod index;
mod locate;
mod map;
mod map_reader;
mod outline;
mod states;
#[cfg(test)]
mod tests;

use std::sync::LazyLock;

pub use combine::NearbyArea;
pub use county::{Area, Country, County};
pub use map::{AreaMap, AreaMapError, MapEntry, MapLayer};
pub use outline::{BorderOutline, outlines};
pub use states::UsState;

use jumpseat_values::{AreaDoubt, Estimate, Position};

use combine::LayerPair;

static MAP: LazyLock<Result<AreaMap<'static>, AreaMapError>> =
    LazyLock::new(|| AreaMap::read(include_bytes!("../../data/areas.bin")));

/// The areas of a span of a moving track.
#[derive(Debug, Clone, PartialEq)]
pub struct SpanAreas {
    /// Where the span began.
    pub start: Estimate<Area>,
    /// Where it ended, when that is another area: two entries may be owed.
    pub end: Option<Estimate<Area>>,
}

/// The area of a position: the one on whose side it lies in our data, or the nearest one
/// within three nautical miles of the shore; no value at sea. No doubts when the position
/// is well inside. Takes some microseconds; the first call reads the map and takes some
/// milliseconds.
pub fn area_of(position: Position) -> Estimate<Area> {
    match layers() {
        Some(layers) => layers.locate(position).estimate(),
        None => Estimate::unknown(AreaDoubt::NoMap),
    }
}

/// The other areas that may hold the position, because their border is closer than it is
/// exact, nearest first. [`area_of`] has a doubt for each.
pub fn rivals(position: Position) -> Vec<NearbyArea> {
    layers().map_or_else(Vec::new, |layers| layers.locate(position).rivals)
}

fn layers() -> Option<LayerPair> {
    match sources() {
        [counties, countries] => Some(LayerPair {
            counties,
            countries,
        }),
        _ => None,
    }
}

/// The areas at the start and at the end of a span, such as a contact made on the move.
pub fn over_span(start: Position, end: Position) -> SpanAreas {
    let (start, end) = (area_of(start), area_of(end));
    let end = (end.value != start.value).then_some(end);
    SpanAreas { start, end }
}

/// Source, licence and tolerance of the map's layers, counties first; empty when the map
/// cannot be read.
pub fn sources() -> &'static [MapLayer<'static>] {
    MAP.as_ref().map_or(&[], |map| &map.layers)
}
