//! The simulator itself: the same seed gives the same bytes.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::scenario::{DriveDifficulty, DriveWish};
use jumpseat_simulator::{scenario, script, trip_recording};

/// Script and trip of a short drive.
fn simulate(seed: u64, folder: &Path) {
    let plan = DrivePlan::lay_out(scenario::short(seed), &mut |_| ()).unwrap();
    script::write(&plan, folder, &mut |_| ()).unwrap();
    trip_recording::record(folder, &plan.scenario.station, folder).unwrap();
}

/// Every file under a folder with what is in it.
fn contents(folder: &Path, under: &Path, all: &mut Vec<(PathBuf, Vec<u8>)>) {
    for entry in fs::read_dir(under).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            contents(folder, &path, all);
        } else {
            let name = path.strip_prefix(folder).unwrap().to_owned();
            all.push((name, fs::read(&path).unwrap()));
        }
    }
    all.sort();
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_does_not() {
    let of_seed = |seed| {
        let folder = tempfile::tempdir().unwrap();
        simulate(seed, folder.path());
        let mut all = Vec::new();
        contents(folder.path(), folder.path(), &mut all);
        all
    };
    let (first, again, other) = (of_seed(1), of_seed(1), of_seed(2));
    assert!(first.len() > 8);
    let differs = first.iter().zip(&again).find(|(a, b)| a != b);
    assert!(
        differs.is_none() && first.len() == again.len(),
        "{:?}",
        differs.map(|pair| &pair.0.0)
    );
    let sound = Path::new(script::SOUND_FILE);
    let find =
        |all: &[(PathBuf, Vec<u8>)]| all.iter().find(|file| file.0 == sound).unwrap().1.clone();
    assert!(find(&first) != find(&other));
    println!(
        "figure: simulator: {} files of one seed, twice the same to the byte",
        first.len()
    );
}

#[test]
fn an_hour_has_its_length_and_its_events_in_order() {
    let plan = DrivePlan::lay_out(
        scenario::drive(&DriveWish {
            seed: 3,
            hours: 1.0,
            contacts_per_hour: 8.0,
            difficulty: DriveDifficulty::Road,
            voices: Vec::new(),
            marks: true,
        }),
        &mut |_| (),
    )
    .unwrap();
    assert!(
        (3_600.0..3_700.0).contains(&plan.length_s),
        "{}",
        plan.length_s
    );
    let events = script::events(&plan);
    assert!(events.windows(2).all(|pair| pair[0].at_s <= pair[1].at_s));
    assert!(events.last().unwrap().at_s <= plan.length_s);
    // Nobody speaks while another does.
    assert!(
        plan.overs
            .windows(2)
            .all(|pair| pair[0].span.to_s <= pair[1].span.from_s)
    );
    let contacts = plan
        .scenario
        .episodes
        .iter()
        .map(|episode| episode.contacts.len())
        .sum::<usize>();
    assert!(contacts >= 5, "{contacts}");
}
