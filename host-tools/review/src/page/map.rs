//! The map of a trip: borders from the public-domain outlines in the program, the route as
//! a road, the entries as numbered signs.

use jumpseat_place::area::{self, BorderOutline};
use jumpseat_values::Position;
use maud::{Markup, html};

use crate::view::{EntryView, TripOverview};

const MAP_WIDTH: f64 = 640.0;
const MAP_HEIGHT: f64 = 460.0;
/// The smallest height of a map, in degrees of latitude: about 11 km.
const MIN_LATITUDE_SPAN: f64 = 0.1;
/// Points closer than this many units are drawn as one.
const MIN_POINT_DISTANCE: f64 = 1.2;

/// The part of the world that is drawn, and its scale.
struct MapWindow {
    south: f64,
    west: f64,
    north: f64,
    east: f64,
    /// Units a degree of latitude and of longitude.
    up: f64,
    across: f64,
}

impl MapWindow {
    /// A window around all points; `None` without any.
    fn around(points: &[(f64, f64)]) -> Option<Self> {
        let first = *points.first()?;
        let start = (first.0, first.0, first.1, first.1);
        let (low, high, left, right) = points.iter().fold(start, |a, p| {
            (a.0.min(p.0), a.1.max(p.0), a.2.min(p.1), a.3.max(p.1))
        });
        let middle = ((low + high) / 2.0, (left + right) / 2.0);
        let shrink = middle.0.to_radians().cos().max(0.05);
        let tall = (high - low) * 1.35;
        let wide = (right - left) * 1.35 * shrink * MAP_HEIGHT / MAP_WIDTH;
        let tall = tall.max(wide).clamp(MIN_LATITUDE_SPAN, 120.0);
        let (up, across) = (MAP_HEIGHT / tall, MAP_HEIGHT / tall * shrink);
        let half = MAP_WIDTH / across / 2.0;
        Some(Self {
            south: (middle.0 - tall / 2.0).max(-90.0),
            north: (middle.0 + tall / 2.0).min(90.0),
            west: (middle.1 - half).max(-180.0),
            east: (middle.1 + half).min(180.0),
            up,
            across,
        })
    }

    fn point(&self, lat: f64, lon: f64) -> (f64, f64) {
        (
            (lon - self.west) * self.across,
            (self.north - lat) * self.up,
        )
    }

    /// A line through all points, without those too close to be seen apart.
    fn path(&self, points: impl Iterator<Item = (f64, f64)>) -> String {
        let mut path = String::new();
        let mut last: Option<(f64, f64)> = None;
        for (lat, lon) in points {
            let at = self.point(lat, lon);
            let far = |from: (f64, f64)| (from.0 - at.0).hypot(from.1 - at.1) >= MIN_POINT_DISTANCE;
            let word = match last {
                None => 'M',
                Some(from) if far(from) => 'L',
                Some(_) => continue,
            };
            path.push_str(&format!("{word}{:.1} {:.1}", at.0, at.1));
            last = Some(at);
        }
        path
    }

    fn outlines(&self) -> Vec<BorderOutline> {
        let corner = |lat, lon| Position::new(lat, lon);
        match corner(self.south, self.west).zip(corner(self.north, self.east)) {
            Some((low, high)) => area::outlines(low, high),
            None => Vec::new(),
        }
    }

    /// Names of the visible areas, each in the middle of its part, off the route.
    fn names(&self, way: &[(f64, f64)]) -> Vec<(String, (f64, f64))> {
        const GRID: (u32, u32) = (14, 10);
        let mut seen: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
        for row in 0..GRID.1 {
            for column in 0..GRID.0 {
                let share = |n: u32, of: u32| (f64::from(n) + 0.5) / f64::from(of);
                let lat = self.south + (self.north - self.south) * share(row, GRID.1);
                let lon = self.west + (self.east - self.west) * share(column, GRID.0);
                let found = Position::new(lat, lon).and_then(|place| area::area_of(place).value);
                let Some(found) = found else { continue };
                let name = found
                    .county
                    .map_or(found.country.name, |county| county.name)
                    .to_owned();
                let at = self.point(lat, lon);
                match seen.iter_mut().find(|(had, _)| *had == name) {
                    Some((_, places)) => places.push(at),
                    None => seen.push((name, vec![at])),
                }
            }
        }
        let way: Vec<(f64, f64)> = way.iter().map(|at| self.point(at.0, at.1)).collect();
        // Where the route or its signs would cover a name.
        let covered = |(x, y): (f64, f64)| {
            let over =
                |at: &&(f64, f64)| (at.0 - x).abs() < 70.0 && (-14.0..52.0).contains(&(at.1 - y));
            way.iter().any(|at| over(&at))
        };
        let room = |(name, places): (String, Vec<(f64, f64)>)| {
            let many = places.len() as f64;
            let x = places.iter().map(|at| at.0).sum::<f64>() / many;
            let y = places.iter().map(|at| at.1).sum::<f64>() / many;
            let aside = [0.0, -70.0, 70.0, -140.0, 140.0];
            let free = aside.into_iter().find(|by| !covered((x, y + by)));
            (places.len() > 5).then_some((name, (x, y + free.unwrap_or(0.0))))
        };
        seen.into_iter().filter_map(room).take(20).collect()
    }
}

pub(super) fn map(glance: &TripOverview, entries: &[EntryView]) -> Markup {
    let mut points: Vec<(f64, f64)> = glance
        .way
        .iter()
        .flatten()
        .map(|at| (at.lat(), at.lon()))
        .collect();
    points.extend(entries.iter().filter_map(|entry| entry.place));
    let Some(view) = MapWindow::around(&points) else {
        return html! { p .empty { "No position was received on this trip, so there is no map." } };
    };
    let outlines = view.outlines();
    let line =
        |outline: &BorderOutline| view.path(outline.points.iter().map(|at| (at.lat(), at.lon())));
    html! {
        svg .map viewBox={ "0 0 " (MAP_WIDTH) " " (MAP_HEIGHT) } role="group"
            aria-label="Map of the route with the entries on it" {
            rect .land width=(MAP_WIDTH) height=(MAP_HEIGHT) {}
            @for outline in &outlines {
                path .(if outline.county { "county" } else { "country" }) d=(line(outline)) {}
            }
            @for (name, (x, y)) in view.names(&points) {
                text .area-name x=(format!("{x:.0}")) y=(format!("{y:.0}")) { (name) }
            }
            @for piece in &glance.way {
                @let path = view.path(piece.iter().map(|at| (at.lat(), at.lon())));
                path .way d=(path) {}
                path .way-middle d=(path) {}
            }
            @if let Some(start) = glance.way.first().and_then(|piece| piece.first()) {
                @let (x, y) = view.point(start.lat(), start.lon());
                circle .start cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="7" { title { "start" } }
            }
            @for entry in entries { (sign(&view, entry)) }
            (scale(&view))
        }
    }
}

fn sign(view: &MapWindow, entry: &EntryView) -> Markup {
    let label = entry.call.clone().unwrap_or_else(|| "no call sign".into());
    html! {
        @if let Some((lat, lon)) = entry.place {
            @let (x, y) = view.point(lat, lon);
            a .on-map.(entry.state.class()) href={ "/entry/" (entry.number) }
                aria-label={ "Entry " (entry.number) ", " (label) }
                transform={ "translate(" (format!("{x:.1} {y:.1}")) ")" } {
                path d="M0 0l-7 -11h-8a4 4 0 0 1 -4 -4v-16a4 4 0 0 1 4 -4h30a4 4 0 0 1 4 4v16a4 4 0 0 1 -4 4h-8z" {}
                text y="-17" { (entry.number) }
            }
        }
    }
}

/// A round length that fits a fifth of the map.
fn scale(view: &MapWindow) -> Markup {
    // A degree of latitude is about 111 km.
    let units_a_km = view.up / 111.2;
    let lengths = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
    let fits = |km: &&f64| **km * units_a_km <= MAP_WIDTH / 4.0;
    let km = lengths.iter().rev().find(fits).copied().unwrap_or(1.0);
    let (x, y) = (MAP_WIDTH - 16.0, MAP_HEIGHT - 14.0);
    let from = x - km * units_a_km;
    html! {
        path .scale d=(format!("M{from:.1} {}v6H{x}v-6", y - 6.0)) {}
        text .scale-text x=(x) y=(y - 11.0) { (km) " km" }
    }
}
