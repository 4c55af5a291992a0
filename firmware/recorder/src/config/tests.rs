use super::*;

#[track_caller]
fn refused(text: &str, says: &str) {
    let problem = RecorderConfig::parse(text).unwrap_err();
    assert!(problem.contains(says), "{problem}");
}

#[test]
fn an_empty_file_means_the_defaults() {
    assert_eq!(RecorderConfig::parse(""), Ok(RecorderConfig::default()));
}

#[test]
fn the_shipped_example_is_right() {
    let path = Path::new(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../package/recorder.toml"
    ));
    let config = RecorderConfig::load(path).unwrap();
    assert!(config.wait_for_devices);
}

#[test]
fn a_misspelt_key_is_named_with_those_that_exist() {
    refused("[sond]\nrx = 0", "unknown field `sond`");
    refused("[sound]\ndevise = \"x\"", "unknown field `devise`");
    refused("[sound]\ndevise = \"x\"", "`device`");
    refused(
        "[lines]\nfeed = { pipe = \"/x\" }",
        "unknown variant `pipe`",
    );
    refused("[gps]\nserial = { port = \"/x\" }", "unknown field `port`");
}

#[test]
fn a_value_out_of_range_is_refused_with_the_range() {
    refused("card.board = \"3FA2C1\"", "six digits");
    refused("sound.rate = 4000", "8000 to 384000");
    refused("sound = { channels = 2, rx = 0, tx = 2 }", "sound.tx is 2");
    refused("sound.latency_ms = 5000", "0 to 1000");
    refused("lines.debounce_ms = 200", "0 to 80");
    refused("dial.every_s = 0.0", "0.1 to 60");
    refused("card.transmit_only_mib = 9999", "0 to card.nearly_full_mib");
    refused("ignition.stay_awake_s = 9000", "not be more than");
    refused(
        "gps = { gpsd = \"127.0.0.1:2947\", serial = { device = \"/dev/ttyACM0\" } }",
        "keep one",
    );
}

/// The doubts about this config, each by its beginning.
#[track_caller]
fn check(text: &str, doubts: &[&str]) {
    let found = RecorderConfig::parse(text).unwrap().doubts();
    assert_eq!(found.len(), doubts.len(), "{found:?}");
    for (found, doubt) in found.iter().zip(doubts) {
        assert!(found.starts_with(doubt), "{found}");
        assert!(found.contains("such as \"W7QTM\""), "{found}");
    }
}

#[test]
fn what_cannot_be_a_call_sign_is_doubted_and_recorded_all_the_same() {
    check("", &[]);
    for call in [
        "W7QTM",
        "w7qtm",
        "W7QTM/P",
        "F/W7QTM/P",
        "GB100QRA",
        "kbøqse",
    ] {
        check(&format!("station.call = \"{call}\""), &[]);
    }
    for (call, why) in [
        ("", "the call sign is empty"),
        ("Ruth", "no part of it has"),
        ("W7", "no part of it has"),
        ("W7QTM mobile", "a call sign has only letters"),
        ("W7QTM/", "there is nothing on one side"),
    ] {
        let doubt = format!("station.call = \"{call}\" cannot be a call sign: {why}");
        check(&format!("station.call = \"{call}\""), &[&doubt]);
    }
    check(
        "station = { call = \"none\", operator = \"Ruth\" }",
        &["station.call = \"none\"", "station.operator = \"Ruth\""],
    );
}
