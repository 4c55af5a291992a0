//! Answers questions about places and call signs, one a line, for the checks against other
//! programs under tests/outside.
//!
//!     area LAT LON          -> code, area, then "code:metres:area" of each other in doubt
//!     prefix TEXT           -> administrations, parted by " | "; empty for none
//!     leg LAT LON LAT LON   -> metres, bearing, back bearing
//!     call TEXT             -> the call sign as understood, then its doubts; or "error: ..."
//!
//! Fields of an answer are parted by tabs. A question that is not understood is answered "?".

use std::io::{self, BufRead, Write};

use jumpseat_place::area::{self, Area};
use jumpseat_place::callsign::{self, PrefixAllocation};
use jumpseat_place::geodesic;
use jumpseat_values::{AreaDoubt, Doubt, Position};

fn main() -> io::Result<()> {
    let mut out = io::BufWriter::new(io::stdout().lock());
    for line in io::stdin().lock().lines() {
        writeln!(out, "{}", answer(&line?).unwrap_or_else(|| "?".to_owned()))?;
    }
    out.flush()
}

fn answer(line: &str) -> Option<String> {
    let (question, rest) = line.split_once(' ')?;
    match question {
        "area" => numbers(rest).and_then(|[lat, lon]| Some(area(Position::new(lat, lon)?))),
        "leg" => numbers(rest).and_then(|[a, b, c, d]| {
            let leg = geodesic::between(Position::new(a, b)?, Position::new(c, d)?);
            Some(format!(
                "{}\t{}\t{}",
                leg.metres, leg.bearing, leg.back_bearing
            ))
        }),
        "prefix" => Some(match callsign::allocation(rest) {
            PrefixAllocation::None => String::new(),
            PrefixAllocation::One(name) => name.to_owned(),
            PrefixAllocation::Several(names) => names.join(" | "),
        }),
        "call" => Some(match callsign::parse(rest) {
            Ok(parsed) => parsed
                .value
                .iter()
                .map(ToString::to_string)
                .chain(parsed.doubts.iter().map(ToString::to_string))
                .collect::<Vec<_>>()
                .join("\t"),
            Err(error) => format!("error: {error}"),
        }),
        _ => None,
    }
}

fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let found: Vec<f64> = text
        .split_whitespace()
        .map(str::parse)
        .collect::<Result<_, _>>()
        .ok()?;
    found.try_into().ok()
}

fn code(area: &Area) -> String {
    match (&area.county, area.country.iso) {
        (Some(county), _) => county.fips.to_owned(),
        (None, Some(iso)) => iso.to_owned(),
        (None, None) => area.country.name.to_owned(),
    }
}

fn area(position: Position) -> String {
    let estimate = area::area_of(position);
    let mut fields = vec![
        estimate.value.as_ref().map(code).unwrap_or_default(),
        estimate
            .value
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
    ];
    let mut rivals = area::rivals(position).into_iter();
    fields.extend(estimate.doubts.iter().map(|doubt| match doubt {
        Doubt::Area(AreaDoubt::NearBorder { metres, there, .. }) => {
            let there_code = rivals.next().map(|rival| code(&rival.area));
            format!("{}:{metres}:{there}", there_code.unwrap_or_default())
        }
        Doubt::Area(AreaDoubt::OffTheEdge { metres, .. }) => format!("edge:{metres}"),
        Doubt::Area(AreaDoubt::NoCounty) => "no county".to_owned(),
        Doubt::Area(AreaDoubt::Nowhere) => "nowhere".to_owned(),
        other => other.to_string(),
    }));
    fields.join("\t")
}
