//! A draft for tests: three overs, a call sign heard in the second.

use jumpseat_entries::{Draft, DraftKind, DraftOver};
use jumpseat_values::{Alternative, DraftDoubt, Estimate, Evidence};

pub(crate) fn draft() -> Draft {
    fn none<T>() -> Estimate<T> {
        Estimate::new(None, Vec::new())
    }
    let over = |direction: &str, start_s: f64, end_s: f64| DraftOver {
        direction: direction.into(),
        start_s,
        end_s,
        segments: vec![1],
    };
    let mut call = Estimate::new(Some("KB0QSE".to_owned()), vec![DraftDoubt::Faint.into()]);
    call.probability = Some(0.8);
    call.alternatives = vec![Alternative {
        value: "KB0QSY".into(),
        probability: 0.1,
    }];
    call.evidence = vec![Evidence {
        over: None,
        segment: Some(1),
        start_s: 12.0,
        end_s: 14.0,
    }];
    Draft {
        kind: DraftKind::Contact,
        on_s: 5.0,
        off_s: 30.0,
        marks_s: vec![29.0],
        call,
        on: Estimate::new("2026-05-14T15:04:28Z".parse().ok(), Vec::new()),
        off: Estimate::new("2026-05-14T15:04:53Z".parse().ok(), Vec::new()),
        hz: Estimate::new(Some(14_287_500), Vec::new()),
        mode: Estimate::new(Some("USB".into()), Vec::new()),
        band: Estimate::new(Some("20m".into()), Vec::new()),
        locator: Estimate::new(Some("DN51em".into()), Vec::new()),
        lat: Estimate::new(Some(41.5), Vec::new()),
        lon: Estimate::new(Some(-109.5), Vec::new()),
        area: none(),
        area_off: None,
        sent: none(),
        received: none(),
        their_locator: none(),
        remark: none(),
        name: none(),
        station: Some("W7QTM".into()),
        operator: None,
        overs: vec![
            over("tx", 5.0, 10.0),
            over("rx", 10.0, 20.0),
            over("tx", 20.0, 30.0),
        ],
        doubts: Vec::new(),
    }
}
