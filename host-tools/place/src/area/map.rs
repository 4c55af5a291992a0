//! The borders inside the binary: how `data/areas.bin` is read and indexed.
//!
//! Each border is kept once, as a line of whole-number points with the area on its left and
//! on its right. A position is found by the nearest piece of border to its west: whatever
//! lies on that piece's east side is where the position is. Pieces are listed by bands of
//! latitude, so that only a few hundred are looked at. The layout of the file stands in
//! `data/README.md`.

use super::map_reader::{AreaMapError, MapReader};

/// One area of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MapEntry<'a> {
    /// Five-digit FIPS code of a county, three-digit ISO 3166-1 number of a country, or
    /// empty where the source has none.
    pub code: &'a str,
    /// Name as the source writes it, label abbreviations written out.
    pub name: &'a str,
}

/// All layers of one file.
#[derive(Debug)]
pub struct AreaMap<'a> {
    /// United States counties first, then countries.
    pub layers: Vec<MapLayer<'a>>,
}

/// Borders of one source.
#[derive(Debug)]
pub struct MapLayer<'a> {
    /// Who made the data, which edition, at which scale.
    pub source: &'a str,
    /// Terms under which it may be passed on.
    pub licence: &'a str,
    /// How far, in metres, a border may lie from the true one.
    pub tolerance_m: u32,
    /// The areas; an area's number is its place in this list plus one, 0 being 'none'.
    pub areas: Vec<MapEntry<'a>>,
    /// Degrees of longitude and latitude in one grid step.
    pub(super) scale: [f64; 2],
    /// Longitude and latitude of grid point (0, 0).
    pub(super) translate: [f64; 2],
    /// The area round the south pole, which no border has to its west; 0 for none.
    pub(super) polar: u32,
    pub(super) points: Vec<[i32; 2]>,
    pub(super) lines: Vec<BorderLine>,
    /// First point that belongs to a speck: an area, or a part of one, that the source's
    /// grid has squeezed to a line or a point. It holds no position, but one can be near it.
    pub(super) specks_from: u32,
    /// For each band, where its pieces begin in `pieces`; one more entry closes the last.
    pub(super) band_starts: Vec<u32>,
    /// Numbers of the first point of each piece, band after band.
    pub(super) pieces: Vec<u32>,
}

/// A run of border between the same two areas.
#[derive(Debug, Clone, Copy)]
pub(super) struct BorderLine {
    pub(super) first: u32,
    pub(super) left: u32,
    pub(super) right: u32,
}

impl<'a> AreaMap<'a> {
    /// Reads a border file. Any bytes are safe to pass; memory stays in proportion to them.
    ///
    /// # Errors
    /// [`AreaMapError`] when the bytes are not a border file or break off.
    pub fn read(bytes: &'a [u8]) -> Result<Self, AreaMapError> {
        let mut reader = MapReader::new(bytes);
        if reader.bytes(8)? != b"JSAREAS1" {
            return Err(AreaMapError::Unknown);
        }
        let count = reader.count(1)?;
        let layers = (0..count)
            .map(|_| MapLayer::read(&mut reader))
            .collect::<Result<_, _>>()?;
        if reader.at_end() {
            Ok(Self { layers })
        } else {
            Err(reader.damaged())
        }
    }
}

impl<'a> MapLayer<'a> {
    fn read(reader: &mut MapReader<'a>) -> Result<Self, AreaMapError> {
        let source = reader.text()?;
        let licence = reader.text()?;
        let tolerance_m = reader.number()?;
        let scale = [reader.float()?, reader.float()?];
        let translate = [reader.float()?, reader.float()?];
        if scale.iter().any(|step| !(1e-9..=1.0).contains(step)) {
            return Err(reader.damaged());
        }
        let polar = reader.number()?;
        let count = reader.count(2)?;
        let areas = (0..count)
            .map(|_| {
                Ok(MapEntry {
                    code: reader.text()?,
                    name: reader.text()?,
                })
            })
            .collect::<Result<Vec<_>, AreaMapError>>()?;
        let known = |area: u32| area as usize <= areas.len();
        let mut points = Vec::new();
        let mut lines = Vec::new();
        for _ in 0..reader.count(7)? {
            let (left, right) = (reader.number()?, reader.number()?);
            lines.push(BorderLine {
                first: points.len() as u32,
                left,
                right,
            });
            read_path(reader, &mut points)?;
        }
        let specks_from = points.len() as u32;
        for _ in 0..reader.count(6)? {
            let area = reader.number()?;
            lines.push(BorderLine {
                first: points.len() as u32,
                left: area,
                right: area,
            });
            read_path(reader, &mut points)?;
        }
        if !known(polar)
            || !lines
                .iter()
                .all(|line| known(line.left) && known(line.right))
        {
            return Err(reader.damaged());
        }
        let mut layer = Self {
            source,
            licence,
            tolerance_m,
            areas,
            scale,
            translate,
            polar,
            points,
            lines,
            specks_from,
            band_starts: Vec::new(),
            pieces: Vec::new(),
        };
        if layer.index() {
            Ok(layer)
        } else {
            Err(reader.damaged())
        }
    }
}

/// Reads points, each as the difference from the one before.
fn read_path(reader: &mut MapReader<'_>, points: &mut Vec<[i32; 2]>) -> Result<(), AreaMapError> {
    let mut at = [0i32; 2];
    for _ in 0..reader.count(2)? {
        for axis in &mut at {
            *axis = axis.wrapping_add(reader.signed()?);
            if !(0..=1_000_000).contains(axis) {
                return Err(reader.damaged());
            }
        }
        points.push(at);
    }
    Ok(())
}
