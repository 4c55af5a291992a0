//! Power cuts of the whole machine, at random moments of a drive with constant key edges
//! and marks.

use std::fs;
use std::thread;
use std::time::{Duration, Instant};

use jumpseat_simulator::random::SeededRandom;
use jumpseat_trip::{JournalEvent, Timeline, Trip};

use super::card;
use super::machine::{ConsoleEvent, VirtualMachine, folder};

/// Number of cuts, unless `JUMPSEAT_CUTS` gives another.
const CUTS: u64 = 5;
/// The loss budget of the design.
const MOST_LOST_S: f64 = 2.0;
/// An edge must have settled, and its record must have been written.
const SETTLED_S: f64 = 0.5;
/// A slow machine may take this long to report what it did.
const LATE_S: f64 = 0.25;
/// Time allowed to the first mark; a busy machine takes many times as long as an idle one.
const PATIENCE: Duration = Duration::from_secs(180);

/// The losses of one cut.
#[derive(Debug, Default)]
struct CutCost {
    damage: Vec<String>,
    audio_s: f64,
    marks: usize,
    edges: usize,
    /// Marks and edges that the machine reported, so that the test cannot pass without any.
    reported: (usize, usize),
}

fn judge(trip: &Trip, events: &[ConsoleEvent]) -> CutCost {
    let cut_s = events.last().map_or(0.0, |event| event.at_s);
    let recorded = trip.segments().iter().map(|segment| segment.end()).max();
    let last_ns = Timeline::of(trip).mono_of_sample(recorded.unwrap_or(0));
    let of = |what: &str| events.iter().filter(|event| event.what == what).count();
    let acknowledged = of("acknowledged");
    let edges: Vec<(bool, f64)> = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            JournalEvent::Ptt { down } => Some((down, record.mono_ns as f64 / 1e9)),
            _ => None,
        })
        .collect();
    let mut cost = CutCost {
        damage: card::damage(trip),
        audio_s: cut_s - last_ns as f64 / 1e9,
        marks: acknowledged.saturating_sub(trip.marks().len()),
        ..CutCost::default()
    };
    for event in events.iter().filter(|event| event.at_s < cut_s - SETTLED_S) {
        let down = match event.what.as_str() {
            "ptt 1" => true,
            "ptt 0" => false,
            _ => continue,
        };
        cost.reported.1 += 1;
        // The board reports after it has done it, to a hundredth of a second.
        let there = |&(level, at_s): &(bool, f64)| {
            level == down && (-LATE_S..0.011).contains(&(at_s - event.at_s))
        };
        cost.edges += usize::from(!edges.iter().any(there));
    }
    cost.reported.0 = acknowledged;
    cost
}

/// The losses of a series of power cuts.
#[derive(Debug, Default)]
struct CutTotals {
    damaged: usize,
    worst_s: f64,
    marks: usize,
    edges: usize,
    reported: (usize, usize),
    /// Seconds from the recorder's start to its first sample.
    starts: Vec<f64>,
}

impl CutTotals {
    fn add(&mut self, other: Self) {
        self.damaged += other.damaged;
        self.worst_s = self.worst_s.max(other.worst_s);
        self.marks += other.marks;
        self.edges += other.edges;
        self.reported.0 += other.reported.0;
        self.reported.1 += other.reported.1;
        self.starts.extend(other.starts);
    }
}

/// Cuts one machine's power this many times; its card is only ever repaired in between.
fn row(number: u64, cuts: u64) -> CutTotals {
    let work = tempfile::tempdir().unwrap();
    let image = work.path().join("card.img");
    fs::copy(folder().join("card.img"), &image).unwrap();
    let mut moment = SeededRandom::stream(number, "virtual board");
    let mut totals = CutTotals::default();
    for cut in 1..=cuts {
        let mut machine = VirtualMachine::on(&image);
        let started_s = machine.wait_for("started", PATIENCE);
        let first_s = machine.wait_for("first sample", PATIENCE);
        machine.wait_for("acknowledged", PATIENCE);
        machine.listen(Duration::from_secs_f64(moment.between(0.0, 3.0)));
        let events = machine.cut_power();
        let copy = work.path().join(format!("cut-{cut}"));
        fs::create_dir(&copy).unwrap();
        let trips = card::trips(&image, &copy);
        assert_eq!(trips.len() as u64, cut, "a trip for every power-up");
        let trip = Trip::open(trips.last().unwrap()).unwrap();
        let cost = judge(&trip, &events);
        if !cost.damage.is_empty() || cost.marks + cost.edges > 0 || cost.audio_s > MOST_LOST_S {
            println!("row {number}, cut {cut}: {cost:?}\n{events:?}");
        }
        totals.add(CutTotals {
            damaged: usize::from(!cost.damage.is_empty()),
            worst_s: cost.audio_s,
            marks: cost.marks,
            edges: cost.edges,
            reported: cost.reported,
            starts: vec![first_s - started_s],
        });
        fs::remove_dir_all(&copy).unwrap();
    }
    totals
}

#[test]
fn the_packaged_recorder_on_real_pins_keeps_its_promises_when_the_machine_loses_power() {
    let cuts = std::env::var("JUMPSEAT_CUTS").map_or(CUTS, |text| {
        text.parse().expect("JUMPSEAT_CUTS is a number of cuts")
    });
    let began = Instant::now();
    // Two machines in parallel: each is idle half of the time.
    let mut totals = CutTotals::default();
    thread::scope(|scope| {
        let rows = [(1, cuts.div_ceil(2)), (2, cuts / 2)];
        for row in rows.map(|(number, cuts)| scope.spawn(move || row(number, cuts))) {
            totals.add(row.join().unwrap());
        }
    });
    totals.starts.sort_by(f64::total_cmp);
    let CutTotals {
        damaged,
        worst_s,
        marks,
        edges,
        reported: (reported_marks, reported_edges),
        starts,
    } = totals;
    println!(
        "figure: pins: the packaged recorder in an emulated machine: {cuts} power cuts, {damaged} trips \
         damaged, worst loss {worst_s:.2} s, {marks} of {reported_marks} marks lost, {edges} of {reported_edges} \
         key edges lost; from its start to the first sample on the card {:.1} s (median); {:.0} s in all",
        starts[starts.len() / 2],
        began.elapsed().as_secs_f64()
    );
    assert!(reported_marks as u64 >= cuts && reported_edges > 0);
    assert_eq!((damaged, marks, edges), (0, 0, 0));
    assert!(worst_s <= MOST_LOST_S, "{worst_s} s");
}
