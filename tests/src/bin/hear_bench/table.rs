//! The tables, as Markdown.

use std::fmt::Write;

use crate::calibration;
use crate::outcome::JudgedOutcome;
use crate::set::JudgingItem;

/// Rates by voices and condition, calibration, false signs, speed.
pub(crate) fn markdown(items: &[JudgingItem], outcomes: &[JudgedOutcome], least: f64) -> String {
    let pairs: Vec<(&JudgingItem, &JudgedOutcome)> = items.iter().zip(outcomes).collect();
    let mut out = String::from(
        "| voices | condition | files | sign exact % | among the readings % | symbol errors % |\n| --- | --- | --- | --- | --- | --- |\n",
    );
    for (family, condition) in kinds(&pairs) {
        let group: Vec<_> = pairs
            .iter()
            .filter(|(i, _)| i.family == family && i.condition == condition && i.sign.is_some())
            .collect();
        if group.is_empty() {
            continue;
        }
        let share = |f: &dyn Fn(&JudgedOutcome) -> bool| {
            100.0 * group.iter().filter(|(_, o)| f(o)).count() as f64 / group.len() as f64
        };
        let said: usize = group
            .iter()
            .filter_map(|(i, _)| i.sign.as_ref())
            .map(String::len)
            .sum();
        let edits: usize = group.iter().map(|(_, o)| o.edits).sum();
        let twice = if condition.ends_with("twice") { 2 } else { 1 };
        let errors = if twice == 1 {
            format!("{:.0}", 100.0 * edits as f64 / said as f64)
        } else {
            "-".into()
        };
        let _ = writeln!(
            out,
            "| {family} | {condition} | {} | {:.0} | {:.0} | {errors} |",
            group.len(),
            share(&|o| o.exact),
            share(&|o| o.listed)
        );
    }
    reports(&pairs, &mut out);
    calibration::table(&pairs, &mut out);
    for family in ["noise", "talk"] {
        let group: Vec<_> = pairs.iter().filter(|(i, _)| i.family == family).collect();
        let hours: f64 = group.iter().map(|(_, o)| o.length_s).sum::<f64>() / 3600.0;
        let given = group
            .iter()
            .flat_map(|(_, o)| &o.signs)
            .filter(|(_, p)| *p >= least)
            .count();
        if hours > 0.0 {
            let _ = writeln!(
                out,
                "\nFalse signs in {family}, from probability {least}: {given} in {hours:.2} h, {:.1} an hour.",
                given as f64 / hours
            );
        }
    }
    let timed = pairs.iter().filter(|(i, _)| i.sign.is_some());
    let (length, taken) = timed
        .filter_map(|(_, o)| o.taken_s.map(|t| (o.length_s, t)))
        .fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
    if taken > 0.0 {
        let _ = writeln!(
            out,
            "\nSpeed on the files with signs: {:.0} times real time, one thread.",
            length / taken
        );
    }
    out
}

/// Prints what was heard instead of each sign that is not the first reading.
pub(crate) fn wrong(items: &[JudgingItem], outcomes: &[JudgedOutcome]) {
    for (item, o) in items.iter().zip(outcomes) {
        if let Some(sign) = item.sign.as_ref().filter(|_| !o.exact) {
            let readings: Vec<String> = o
                .readings
                .iter()
                .map(|(s, p)| format!("{s} {p:.2}"))
                .collect();
            let (file, said, rest) = (&item.file, &o.said, readings.join(", "));
            println!(
                "{file}: {sign}, letters {said}, signs {}: {rest}",
                o.signs.len()
            );
        }
    }
}

fn kinds(pairs: &[(&JudgingItem, &JudgedOutcome)]) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = Vec::new();
    for (item, _) in pairs {
        let kind = (item.family.clone(), item.condition.clone());
        if !out.contains(&kind) {
            out.push(kind);
        }
    }
    out.sort_by(|a, b| a.0.cmp(&b.0));
    out
}

fn reports(pairs: &[(&JudgingItem, &JudgedOutcome)], out: &mut String) {
    let group: Vec<_> = pairs.iter().filter(|(i, _)| i.report.is_some()).collect();
    if !group.is_empty() {
        let right = group.iter().filter(|(_, o)| o.report).count();
        let _ = writeln!(out, "\nReports at 12 dB: {right} of {} right.", group.len());
    }
}
