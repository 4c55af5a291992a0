//! Homes that earlier versions wrote, opened by today's program: every trip, entry,
//! action and sample is still there, and work goes on from them.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_test_kit::{TestHome, contents, copy_folder};
use jumpseat_trip::Trip;
use serde_json::Value;

/// A copy of one of the homes in tests/upgrade.
struct EarlierHome {
    /// The home as it was written.
    fixture: PathBuf,
    today: TestHome,
}

impl EarlierHome {
    fn of(version: &str) -> Self {
        let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("upgrade/home-{version}"));
        let today = TestHome::empty().unwrap();
        copy_folder(&fixture, today.folder()).unwrap();
        Self { fixture, today }
    }

    /// What a command prints as JSON.
    #[track_caller]
    fn json(&self, arguments: &[&str]) -> Value {
        self.today.run(arguments).done().json()
    }

    /// What the old version's list said.
    fn then(&self, list: &str) -> Value {
        serde_json::from_slice(&fs::read(self.fixture.join(list)).unwrap()).unwrap()
    }

    /// Every file of a trip with its bytes.
    fn files(&self, trip: &str) -> BTreeMap<PathBuf, Vec<u8>> {
        contents(&self.today.trip(trip)).unwrap()
    }
}

/// All that stands in `old` stands in `new`; `new` may say more.
#[track_caller]
fn holds(new: &Value, old: &Value, at: &str) {
    match (new, old) {
        (Value::Object(new), Value::Object(old)) => {
            for (key, old) in old {
                let new = new.get(key).unwrap_or(&Value::Null);
                holds(new, old, &format!("{at}.{key}"));
            }
        }
        (Value::Array(new), Value::Array(old)) => {
            assert_eq!(new.len(), old.len(), "{at}");
            for (number, (new, old)) in new.iter().zip(old).enumerate() {
                holds(new, old, &format!("{at}[{number}]"));
            }
        }
        _ => assert_eq!(new, old, "{at}"),
    }
}

/// The lists as they were, aside from where the home lies now.
#[track_caller]
fn lists_are_whole(home: &EarlierHome) {
    holds(
        &home.json(&["log", "--json"]),
        &home.then("log.json"),
        "log",
    );
    holds(
        &home.json(&["undo", "--list", "--json"]),
        &home.then("actions.json"),
        "actions",
    );
    let (mut new, mut old) = (home.json(&["trips", "--json"]), home.then("trips.json"));
    for trips in [&mut new, &mut old] {
        for trip in trips.as_array_mut().unwrap() {
            // Its words may be bettered, and name the folder.
            let trouble = trip["trouble"].as_array().unwrap().is_empty();
            trip["trouble"] = Value::Bool(!trouble);
        }
    }
    holds(&new, &old, "trips");
}

#[test]
fn every_entry_action_trip_and_sample_is_there() {
    let home = EarlierHome::of("0.1.0");
    lists_are_whole(&home);
    // Files with sound and the samples in them, as soxi counts them.
    for (name, segments, samples) in [
        ("trip-000001-3fa2c1", 9, 2_352_320),
        ("trip-000002-3d1219", 3, 96_000),
        ("trip-000003-3d1219", 2, 64_000),
    ] {
        let trip = Trip::open(&home.today.trip(name)).unwrap();
        let read: Vec<usize> = trip
            .segments()
            .iter()
            .filter_map(|segment| trip.read_segment(segment.number).ok())
            .map(|samples| samples.len())
            .filter(|&count| count > 0)
            .collect();
        assert_eq!(
            (read.len(), read.iter().sum::<usize>()),
            (segments, samples),
            "{name}"
        );
    }
}

#[test]
fn work_goes_on_from_it() {
    let home = EarlierHome::of("0.1.0");
    let before = ["trip-000001-3fa2c1", "trip-000002-3d1219"].map(|trip| (trip, home.files(trip)));
    // The file that could not be read then comes now, and makes its trip whole.
    home.today.run(&["pull", "card"]).done();
    let sound = |folder: &Path| contents(&folder.join("audio")).unwrap();
    let name = "trip-000003-3d1219";
    let card = home.today.at("card").join(name);
    assert_eq!(sound(&home.today.trip(name)), sound(&card));
    for (trip, before) in &before {
        let now = home.files(trip);
        for (path, bytes) in before {
            let hidden = path.file_name().unwrap().to_string_lossy().starts_with('.');
            assert!(hidden || now.get(path) == Some(bytes), "{trip}: {path:?}");
        }
    }
    // Drafting, or refusing to draft what is packed, takes nothing from what a person said.
    home.today.run(&["draft", "3"]).done();
    let says = ["reduced to the sound of confirmed contacts"];
    home.today.run(&["draft", "1"]).ended(1).says(&says);
    let entries = home.json(&["log", "--json"]);
    let contact = |number: i64| {
        let entries = entries.as_array().unwrap();
        let entry = entries.iter().find(|entry| entry["number"] == number);
        entry.unwrap()["contact"].clone()
    };
    assert_eq!(contact(2)["name"], "Walter");
    assert_eq!(contact(2)["comment"], "a correction");
    assert_eq!(contact(1), Value::Null);
    // What it exported comes out as it did; only the correction is new.
    let export = ["export", "--format", "adif", "--trip", "1", "--out"];
    home.today
        .run(&[&export[..], &["again.adi"]].concat())
        .done();
    let last = |path: &Path| {
        let text = fs::read_to_string(path).unwrap();
        text.lines().last().unwrap().to_owned()
    };
    let old = last(&home.fixture.join("first.adi"));
    let new = last(&home.today.at("again.adi"))
        .replace("<NAME:6>Walter", "<NAME:4>Walt")
        .replace("<COMMENT:12>a correction ", "");
    assert_eq!(new, old);
    // The old actions can be taken back.
    home.today.run(&["undo", "4"]).done();
    let entries = home.json(&["log", "--json", "--call", "N0QRD"]);
    assert_eq!(entries[0]["contact"]["name"], "Walt");
}
