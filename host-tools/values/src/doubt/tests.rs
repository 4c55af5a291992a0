use proptest::prelude::*;

use super::*;
use crate::Rounded;

/// What a field of a sentence may hold.
pub(super) trait FieldSample: Sized {
    /// Any value that a doubt has in practice.
    fn any() -> BoxedStrategy<Self>;
}

macro_rules! samples {
    ($($type:ty: $strategy:expr),+ $(,)?) => {
        $(impl FieldSample for $type {
            fn any() -> BoxedStrategy<Self> {
                $strategy.boxed()
            }
        })+
    };
}

samples! {
    u32: any::<u32>(),
    u64: any::<u64>(),
    i64: any::<i64>(),
    usize: any::<usize>(),
    char: proptest::char::range('0', 'Z'),
    // Words of names begin with capitals, so that " or " never stands among them.
    String: "[A-Z0-9][a-z]{0,6}( [(]?[A-Z][a-z]{1,6}[)]?){0,3}(, [A-Z][a-z]{1,6})?",
    ClockOrder: prop_oneof![Just(ClockOrder::Earlier), Just(ClockOrder::Later)],
    AudioSide: prop_oneof![Just(AudioSide::Receive), Just(AudioSide::Transmit)],
}

impl<const PLACES: usize> FieldSample for Rounded<PLACES> {
    fn any() -> BoxedStrategy<Self> {
        let numbers = prop_oneof![-1e6..1e6_f64, 0.0..2.0_f64, Just(u64::MAX as f64)];
        numbers.prop_map(Self::new).boxed()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn every_doubt_reads_back_from_its_sentence(doubt in Doubt::any()) {
        prop_assert_eq!(Doubt::read(&doubt.to_string()), doubt.clone());
        let json = serde_json::to_string(&doubt).unwrap();
        prop_assert_eq!(&json, &serde_json::to_string(&doubt.to_string()).unwrap());
        prop_assert_eq!(serde_json::from_str::<Doubt>(&json).unwrap(), doubt);
    }

    #[test]
    fn no_sentence_is_changed_by_being_read(
        words in prop::collection::vec(prop_oneof![
            Just("the prefix ".to_owned()), Just(" may be ".to_owned()), Just(" or ".to_owned()),
            Just(" s later".to_owned()), Just("/".to_owned()), Just("07".to_owned()),
            Just(" in the call sign".to_owned()), Just("the dial was first read ".to_owned()),
            ".{0,8}",
        ], 0..6),
    ) {
        let sentence = words.concat();
        prop_assert_eq!(Doubt::read(&sentence).to_string(), sentence);
    }
}

/// The sentence that stands in logbooks, and what it must be read as.
#[track_caller]
fn check(sentence: &str, doubt: impl Into<Doubt>) {
    let doubt = doubt.into();
    assert_eq!(Doubt::read(sentence), doubt);
    assert_eq!(doubt.to_string(), sentence);
}

#[test]
fn stored_sentences_are_read_as_their_kind() {
    use AreaDoubt::*;
    use CallSignDoubt::*;
    use DialDoubt::*;
    use PlaceDoubt::*;
    use TimeDoubt::{Contradiction, FarFromFix, NeverFixed, RivalFixes};
    check("time unknown, relative only", TimeDoubt::Unknown);
    check(
        "time unknown, relative only: the receiver never had a fix (it thought it was 2006-08-19T01:02:03Z)",
        NeverFixed {
            thought: "2006-08-19T01:02:03Z".into(),
        },
    );
    check(
        "12 time fixes say that it was 3.5 s later; they were not believed",
        RivalFixes {
            fixes: 12,
            apart_s: Rounded::new(3.5),
            order: ClockOrder::Later,
        },
    );
    check(
        "the time fixes around it contradict each other by 0.120 s",
        Contradiction {
            apart_s: Rounded::new(0.12),
        },
    );
    check(
        "UTC is only known to ±1.3 s: the nearest time fix is 610 s away",
        FarFromFix {
            within_s: Rounded::new(1.3),
            away_s: Rounded::new(610.0),
        },
    );
    check(
        "there is no position fix in this trip (4 that were not valid)",
        NoValidFix { invalid: 4 },
    );
    check(
        "the place is that of the last fix, 31 s before",
        AfterLastFix { away_s: 31 },
    );
    check(
        "no position fix for 46 s: the place is between two fixes 1.2 km apart",
        BetweenFixes {
            gap_s: 46,
            apart_km: Rounded::new(1.2),
        },
    );
    check(
        "the dial was last read 200 s before",
        OldReading { age_s: 200 },
    );
    check("the frequency is in no amateur band", NoBand);
    check(
        "Hill County, Montana or Canada: their border is 560 m away, and our map of it is good to 1500 m",
        NearBorder {
            here: "Hill County, Montana".into(),
            there: "Canada".into(),
            metres: Rounded::new(560.4),
            tolerance_m: 1500,
        },
    );
    check(
        "the contact began in Carter County, Montana and ended in Crook County, Wyoming: two entries may be owed",
        Crossed {
            from: "Carter County, Montana".into(),
            to: "Crook County, Wyoming".into(),
        },
    );
    check(
        "the prefix 3D may be Eswatini (Kingdom of) or Fiji (Republic of)",
        SharedPrefix {
            prefix: "3D".into(),
            administrations: "Eswatini (Kingdom of) or Fiji (Republic of)".into(),
        },
    );
    check(
        "/R may mean a rover or Russia",
        TwoMeanings {
            addition: "R".into(),
            meanings: "a rover or Russia".into(),
        },
    );
    check(
        "0 or D in the call sign",
        DraftDoubt::Letter {
            one: '0',
            other: 'D',
        },
    );
    check("not heard yet", DraftDoubt::NotHeard);
    check(
        "the newest draft does not find this contact any more",
        DraftDoubt::NotFoundAgain,
    );
    check("not heard in this part", DraftDoubt::NotInPart);
    let file = || "/home/somebody/station.toml".to_owned();
    check(
        "your own call sign is not known; write `call = \"...\"` into /home/somebody/station.toml",
        StationDoubt::OwnCallUnknown { file: file() },
    );
    check(
        "your own call sign is not known; write `call = \"...\"` into /home/somebody/station.toml. W7QTM was taken for it: you keep saying it",
        StationDoubt::OwnCallTaken {
            file: file(),
            sign: "W7QTM".into(),
        },
    );
    check(
        "receive audio clips in 0.12 % of its samples: turn its level down",
        SoundDoubt::Clips {
            side: AudioSide::Receive,
            percent: Rounded::new(0.12),
        },
    );
    check(
        "the key line was down for 6 minutes in one go: if it is stuck, contacts are missing; check its wire",
        RecordingDoubt::KeyStuck { minutes: 6 },
    );
    check(
        "the report sent '5' is unusual; such as 59 is usual",
        EntryDoubt::UnusualSent { report: "5".into() },
    );
}

#[test]
fn what_no_family_knows_stays_as_it_is() {
    for words in [
        "",
        "audio/000003-rx.wav: the file is missing",
        "the dial was last read 0200 s before",
        "XY or Z in the call sign",
        "sideways audio is silent: check its cable",
    ] {
        check(words, Doubt::Other(words.into()));
    }
}

/// A sentence that older programs stored, and the one that is written for it now.
#[track_caller]
fn check_older(older: &str, now: &str) {
    assert_eq!(Doubt::read(older), Doubt::read(now));
    assert_eq!(Doubt::read(older).to_string(), now);
    assert_ne!(Doubt::read(older), Doubt::Other(older.into()));
}

#[test]
fn sentences_of_older_programs_are_read_as_the_same_kind() {
    check_older(
        "rig control never told the dial in this trip",
        "rig control never reported the dial in this trip",
    );
}
