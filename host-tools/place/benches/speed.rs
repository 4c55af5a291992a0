//! Time per question, printed as a table: `cargo bench -p jumpseat-place`.
//!
//! Positions are drawn from a fixed row of numbers, so that runs can be compared.

use std::hint::black_box;
use std::time::Instant;

use jumpseat_place::{area, callsign, geodesic};
use jumpseat_values::Position;

/// Questions asked per line of the table.
const ROUNDS: usize = 100_000;

fn main() {
    let start = Instant::now();
    let layers = area::sources().len();
    println!(
        "map of {layers} layers read and indexed in {:.1} ms",
        start.elapsed().as_secs_f64() * 1e3
    );

    let mut row = FixedNumbers(1);
    let world: Vec<_> = (0..4096)
        .filter_map(|_| Position::new(row.next(-60.0, 75.0), row.next(-180.0, 180.0)))
        .collect();
    let states: Vec<_> = (0..4096)
        .filter_map(|_| Position::new(row.next(30.0, 48.0), row.next(-120.0, -75.0)))
        .collect();
    let calls: [&[u8]; 6] = [
        b"W7QTM",
        b"KB0QSE",
        b"3DA0QR",
        b"GB100QRA",
        b"A61QR",
        b"QQQ7X",
    ];

    println!("{:<34}{:>12}", "question", "each");
    table("area, anywhere", |i| area::area_of(world[i % world.len()]));
    table("area, United States", |i| {
        area::area_of(states[i % states.len()])
    });
    table("geodesic", |i| {
        geodesic::between(world[i % world.len()], states[i * 7 % states.len()])
    });
    table("great circle", |i| {
        geodesic::great_circle(world[i % world.len()], states[i * 7 % states.len()])
    });
    table("call sign weighed", |i| {
        callsign::weigh(black_box(calls[i % calls.len()]))
    });
    table("call sign parsed", |i| {
        callsign::parse(["W7QTM/M", "DL/KB0QSE/P"][i % 2])
    });
}

/// Asks many times and prints a line.
fn table<T>(question: &str, mut ask: impl FnMut(usize) -> T) {
    let start = Instant::now();
    for round in 0..ROUNDS {
        black_box(ask(round));
    }
    let each = start.elapsed().as_secs_f64() / ROUNDS as f64;
    println!("{question:<34}{:>9.2} µs", each * 1e6);
}

/// A fixed row of numbers (a linear congruential generator with Knuth's constants).
struct FixedNumbers(u64);

impl FixedNumbers {
    fn next(&mut self, from: f64, to: f64) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        from + (to - from) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }
}
