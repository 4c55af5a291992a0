//! Every field, enumeration and data type that we write, against the tables of
//! the ADIF 3.1.6 specification.

use std::path::Path;

use jumpseat_test_kit::{done, outside_script};
use serde::Deserialize;

use crate::logbook::ReferenceLogbook;

#[derive(Debug, Deserialize)]
struct SpecificationReport {
    wrong: Vec<String>,
    fields: usize,
    old_modes: usize,
    bands: usize,
    values: usize,
    used: Vec<String>,
    types: Vec<String>,
    listed: usize,
}

/// All that a person may say, and all that the demo drive gives.
const HEARD: [&str; 22] = [
    "--call",
    "KB0QSE/M",
    "--sent",
    "59",
    "--received",
    "57",
    "--name",
    "Zoë",
    "--comment",
    "at the pass",
    "--qth",
    "Laramie",
    "--their-locator",
    "DN71ab12cd",
    "--sig",
    "QRT",
    "--sig-info",
    "Q-1",
    "--my-sig",
    "QRU",
    "--my-sig-info",
    "Q-2",
];

#[test]
fn all_that_is_written_stands_in_the_specification() {
    let demo = ReferenceLogbook::demo();
    demo.run(&[&["confirm", "1", "--receive-mhz", "14.3"], &HEARD[..]].concat());
    let own = demo.export("adx");
    let random = ReferenceLogbook::random(7, 1000);
    let imported = random.export("adx");

    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let log = here.join("../host-tools/formats/src/adif");
    let mut command = outside_script("adif_spec.py").unwrap();
    command
        .args([log.join("fields.txt"), log.join("old_modes.txt")])
        .arg(here.join("../host-tools/place/src/bands.toml"))
        .args([own, imported]);
    let told = done(&mut command).unwrap();
    let told: SpecificationReport = serde_json::from_str(&told).unwrap();
    assert_eq!(told.wrong, Vec::<String>::new());
    // Every field of a contact that a person or the drive fills is among them.
    for field in [
        "FREQ_RX",
        "SIG_INFO",
        "MY_SIG",
        "GRIDSQUARE_EXT",
        "MY_CNTY",
        "NAME_INTL",
    ] {
        assert!(told.used.iter().any(|used| used == field), "{field}");
    }
    println!(
        "figure: ADIF 3.1.6: {} of {} fields, {} old modes and {} bands as in its tables",
        told.fields, told.fields, told.old_modes, told.bands
    );
    println!(
        "figure: ADIF 3.1.6: {} values of {} fields and {} data types as it wants them, {} of them \
         held to enumerations, none wrong",
        told.values,
        told.used.len(),
        told.types.len(),
        told.listed
    );
}
