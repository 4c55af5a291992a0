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
    certain(&pairs, &mut out);
    false_signs(&pairs, least, &mut out);
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

/// Conditions in which a sign that is given as nearly certain has to be right.
const GOOD_CONDITIONS: [&str; 5] = ["clean", "20", "12", "12+", "6"];
/// From this probability on a sign is given as nearly certain.
const CERTAIN_PROBABILITY: f64 = 0.9;

/// How many of the signs that are given as nearly certain are wrong.
fn certain(pairs: &[(&JudgingItem, &JudgedOutcome)], out: &mut String) {
    let said = pairs
        .iter()
        .filter(|(i, _)| i.sign.is_some() && GOOD_CONDITIONS.contains(&i.condition.as_str()));
    let given: Vec<bool> = said
        .flat_map(|(i, o)| {
            let nearly_certain = o.signs.iter().filter(|(_, p)| *p >= CERTAIN_PROBABILITY);
            nearly_certain.map(|(text, _)| i.sign.as_ref() == Some(text))
        })
        .collect();
    let wrong = given.iter().filter(|right| !**right).count();
    if !given.is_empty() {
        let _ = writeln!(
            out,
            "\nSigns given from {CERTAIN_PROBABILITY}, 6 dB and better: {wrong} of {} wrong, {:.1} %.",
            given.len(),
            100.0 * wrong as f64 / given.len() as f64
        );
    }
}

/// Signs that nobody said, by condition.
fn false_signs(pairs: &[(&JudgingItem, &JudgedOutcome)], least: f64, out: &mut String) {
    let silent: Vec<_> = pairs
        .iter()
        .copied()
        .filter(|(i, _)| i.is_without_sign())
        .collect();
    for (family, condition) in kinds(&silent) {
        let group = silent
            .iter()
            .filter(|(i, _)| i.family == family && i.condition == condition);
        let (hours, given) = group.fold((0.0, 0), |(hours, given), (_, o)| {
            let signs = o.signs.iter().filter(|(_, p)| *p >= least).count();
            (hours + o.length_s / 3600.0, given + signs)
        });
        let _ = writeln!(
            out,
            "\nFalse signs in {family} ({condition}), from probability {least}: {given} in {hours:.2} h."
        );
    }
}

/// Prints what was heard instead of each sign that is not the first reading, and every sign
/// from `least` on that nobody said.
pub(crate) fn wrong(items: &[JudgingItem], outcomes: &[JudgedOutcome], least: f64) {
    for (item, o) in items.iter().zip(outcomes) {
        let given = o.signs.iter().filter(|(_, p)| *p >= least);
        for (text, p) in given.filter(|_| item.is_without_sign()) {
            println!("{}: no sign, heard {text} {p:.2}", item.file);
        }
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
