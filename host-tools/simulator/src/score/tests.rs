use super::*;

const START: &str = "2026-05-14T15:00:00.000Z";

fn truth() -> DriveTruth {
    serde_json::from_str(&format!(
        r#"{{"format":1,"seed":1,"start_utc":"{START}","station":{{"call":"W7QTM","operator":"W7QTM"}},"length_s":400.0,
        "contacts":[
          {{"call":"KB0QSE","on_s":100.0,"off_s":160.0,"hz":14250000,"mode":"USB","sent":"59","received":"57","name":"Ruth",
            "lat":41.5,"lon":-109.6,"locator":"DN51em","overs":[]}},
          {{"call":"N0QRD","on_s":240.0,"off_s":280.0,"hz":146550000,"mode":"FM","sent":"58","received":"59","name":null,
            "lat":41.6,"lon":-109.5,"locator":"DN51go","overs":[]}}],
        "unanswered":[],"marks":[],"track":[],"tunnel":null,"first_fix_s":120.0,"markers":null}}"#
    ))
    .unwrap()
}

fn entry(kind: &str, on_s: f64, off_s: f64, call: &str) -> String {
    let utc = |s: f64| format!("2026-05-14T15:{:02}:{:06.3}Z", (s / 60.0) as u32, s % 60.0);
    format!(
        r#"{{"kind":"{kind}","on_s":0,"off_s":0,"on":{{"value":"{}"}},"off":{{"value":"{}"}},"call":{call},
        "hz":{{"value":14250000}},"mode":{{"value":"USB"}},"locator":{{"value":"DN51EM"}},"lat":{{"value":41.5}},
        "lon":{{"value":-109.6}},"sent":{{"value":"59"}},"received":{{"value":null}},"name":{{"value":null}}}}"#,
        utc(on_s),
        utc(off_s)
    )
}

#[track_caller]
fn check(entries: &[String], found: usize, missed: usize, invented: usize) -> DraftScore {
    let file = serde_json::from_str(&format!(r#"{{"drafts":[{}]}}"#, entries.join(","))).unwrap();
    let score = score(&truth(), &file).unwrap();
    let counts = (score.found, score.missed.len(), score.invented.len());
    assert_eq!(counts, (found, missed, invented), "{score}");
    score
}

const BLANK: &str = r#"{"value":null}"#;

#[test]
fn contacts_are_found_missed_and_invented() {
    check(&[], 0, 2, 0);
    check(&[entry("contact", 100.5, 160.0, BLANK)], 1, 1, 0);
    check(&[entry("contact", 20.0, 60.0, BLANK)], 0, 2, 1);
    // An entry to look at is neither found nor invented.
    assert_eq!(
        check(&[entry("look", 100.0, 160.0, BLANK)], 0, 2, 0).looks,
        1
    );
    // Two halves of one contact: one is it, the other is one too many.
    let halves = [
        entry("contact", 100.0, 140.0, BLANK),
        entry("contact", 141.0, 160.0, BLANK),
    ];
    check(&halves, 1, 1, 1);
    // One entry over both contacts finds only one.
    check(&[entry("contact", 100.0, 280.0, BLANK)], 1, 1, 0);
}

#[test]
fn fields_are_right_second_wrong_or_blank() {
    let entries = [
        entry(
            "contact",
            100.5,
            159.0,
            r#"{"value":"KB0QSA","alternatives":[{"value":"KB0QSE","probability":0.3}]}"#,
        ),
        entry("contact", 240.0, 280.0, r#"{"value":"N0QRT"}"#),
    ];
    let score = check(&entries, 2, 0, 0);
    let [first, second] = &score.matched[..] else {
        panic!("{score}")
    };
    assert_eq!(
        (first.on_error_s, first.off_error_s),
        (Some(0.5), Some(-1.0))
    );
    assert_eq!(
        (first.call, second.call),
        (FieldVerdict::Alternative, FieldVerdict::Wrong)
    );
    assert_eq!(
        (first.hz, second.hz),
        (FieldVerdict::Right, FieldVerdict::Wrong)
    );
    assert_eq!(
        (first.locator, second.locator),
        (FieldVerdict::Right, FieldVerdict::Wrong)
    );
    assert_eq!(
        (first.sent, second.sent),
        (FieldVerdict::Right, FieldVerdict::Wrong)
    );
    assert_eq!(
        (first.received, first.name),
        (FieldVerdict::Blank, FieldVerdict::Blank)
    );
    // No name was said, and none is in the draft.
    assert_eq!(second.name, FieldVerdict::Right);
    assert_eq!(first.place_error_m, Some(0.0));
    let far = second.place_error_m.unwrap();
    // 0.1° of latitude and of longitude at 41.5° north: 11.1 and 8.3 km.
    assert!((13_800.0..14_000.0).contains(&far), "{far}");
}

#[test]
fn contacts_of_one_conversation_are_told_apart_by_their_signs() {
    let entries = [
        entry(
            "contact",
            100.0,
            160.0,
            r#"{"value":"N0QRD","probability":0.95}"#,
        ),
        entry(
            "contact",
            102.0,
            160.0,
            r#"{"value":"KB0QSE","probability":0.9}"#,
        ),
    ];
    let score = check(&entries, 1, 1, 1);
    assert_eq!(score.matched[0].call, FieldVerdict::Right);
    assert_eq!(score.stated, [(0.9, true), (0.95, false)]);
    let summary = ScoreSummary::from_scores(&[score]);
    assert_eq!(
        (summary.found, summary.contacts, summary.invented),
        (1, 2, 1)
    );
    assert_eq!(summary.sure_and_wrong, 1);
    // Two in the last bin, one of them right: 0.925 said, 0.5 true.
    assert!(
        (summary.calibration_error - 0.425).abs() < 1e-9,
        "{summary}"
    );
}
