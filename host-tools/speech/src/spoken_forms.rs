//! Signs of every form as they are spoken, and what is no sign, with scores as an ideal model
//! and as an uncertain one would give them.

use jumpseat_vocabulary::{OTHER_WORD, TokenKind, output_count, tokens};

use crate::fold::FoldedScores;
use crate::signs;

/// Steps from one word to the next, each 40 ms.
const WORD_STEPS: usize = 10;

/// The output for a word as it is written in a case: a capital letter is its spelling word, a
/// small letter its name, a figure its word, anything else itself or a word that nobody knows.
fn output(word: &str) -> usize {
    let is_itu = |kind| kind == TokenKind::Itu || kind == TokenKind::Figure;
    let name = format!("letter-{word}");
    let mut known = tokens().iter();
    let at = known
        .position(|t| (is_itu(t.kind) && t.symbol == word) || t.word == name || t.word == word);
    let other = || tokens().iter().position(|t| t.word == OTHER_WORD);
    at.or_else(other).map_or(0, |k| k + 1)
}

/// Log-probabilities in which each word is heard with the probability `sure`, and a letter
/// or word drawn by its place with most of the rest; `-` is a pause of a second.
fn scores(said: &str, sure: f32) -> FoldedScores {
    let size = output_count();
    let mut out: Vec<f32> = Vec::new();
    let pause = |steps: usize, out: &mut Vec<f32>| {
        let mut row = vec![1e-7_f32.ln(); size];
        row[0] = 0.9999_f32.ln();
        out.extend(row.iter().cycle().take(steps * size));
    };
    pause(5, &mut out);
    for (k, word) in said.split(' ').enumerate() {
        if word == "-" {
            pause(25, &mut out);
            continue;
        }
        let mut row = vec![1e-7_f32; size];
        row[1 + (7 * k + 3) % 26] = 0.6 * (1.0 - sure);
        row[0] = 0.4 * (1.0 - sure);
        row[output(word)] += sure;
        out.extend(row.iter().map(|p| p.ln()));
        pause(WORD_STEPS - 1, &mut out);
    }
    FoldedScores::from_scores(&out)
}

/// The signs that are more probable than not, in order.
fn heard(said: &str, sure: f32) -> Vec<(String, f64)> {
    let found = signs::find(&scores(said, sure)).into_iter();
    let best = found.filter_map(|sign| sign.alternatives.into_iter().next());
    best.filter(|(_, p)| *p > 0.5).collect()
}

/// The signs that are more probable than not are `wanted` where the words are clear, and no
/// others where they are not.
#[track_caller]
fn check(said: &str, wanted: &[&str]) {
    let clear = heard(said, 0.99);
    let signs: Vec<&str> = clear.iter().map(|(sign, _)| sign.as_str()).collect();
    assert_eq!(signs, wanted, "'{said}': {clear:?}");
    let unclear = heard(said, 0.85);
    let known = |(sign, _): &(String, f64)| wanted.contains(&sign.as_str());
    assert!(unclear.iter().all(known), "'{said}': {unclear:?}");
}

#[test]
fn letters_and_figures_however_they_are_said() {
    check("this is W 7 Q T M over", &["W7QTM"]);
    check("w seven Q t M", &["W7QTM"]);
    check("K letter-b zero queen sugar E", &["KB0QSE"]);
    check("kilowatt baker o queen sierra easy", &["KB0QSE"]);
    check("K B o Q o S", &["KB0QOS"]);
    check("i 0 Q I S", &["I0QIS"]);
    check("Z l 2 Q z R", &["ZL2QZR"]);
    check("A 6 1 Q R", &["A61QR"]);
    check("2 E 0 Q R A", &["2E0QRA"]);
    check("W 7 Q Q", &["W7QQ"]);
    check("K 1 Q", &["K1Q"]);
}

#[test]
fn a_suffix_that_is_a_word_as_well() {
    check("W 7 qrp over", &["W7QRP"]);
    check("W 7 cq over", &["W7CQ"]);
    check("K B 0 qsl", &["KB0QSL"]);
    check("K B 0 Q S E qrz", &["KB0QSE"]);
    check("cq cq W 7 Q T M cq", &["W7QTM"]);
    check("K 7 Q cq", &["K7Q"]);
    check("M 0 Q S X qsl 5 9", &["M0QSX"]);
    check("cq 4 0 meters", &[]);
    check("qrp 5 watts", &[]);
}

#[test]
fn special_signs() {
    check("G B 1 0 0 Q R A", &["GB100QRA"]);
    check("G B one hundred Q R A", &["GB100QRA"]);
    check("D L 2 0 2 6 Q", &["DL2026Q"]);
    check("D L twenty twenty 6 Q R A", &["DL2026QRA"]);
    check("T M 2 4 Q R S", &["TM24QRS"]);
    check("T M twenty 4 Q R S", &["TM24QRS"]);
    check("T M seventy Q R S", &["TM70QRS"]);
    check("H B 9 0 Q R S", &["HB90QRS"]);
    check("O E 2 0 2 6 Q R A", &["OE2026QRA"]);
    check("R 2 0 2 5 Q R", &["R2025QR"]);
    check("D L 0 Q R A V E L", &["DL0QRAVEL"]);
}

#[test]
fn no_sign_takes_what_stands_beside_it() {
    check("W 7 Q T M 5 9", &["W7QTM"]);
    check("W 7 Q T M 5 9 5 9", &["W7QTM"]);
    check("5 9 W 7 Q T M", &["W7QTM"]);
    check("you are 5 9 9 W 7 Q T M", &["W7QTM"]);
    check("7 3 W 7 Q T M", &["W7QTM"]);
    check("5 9 2 E 0 Q R A", &["2E0QRA"]);
    check("W 7 Q T M Q T M", &["W7QTM"]);
    check("W 7 Q T M T M", &["W7QTM"]);
    check("K B 0 Q S E - K B 0 Q S E", &["KB0QSE"]);
    check("K B 0 Q S E K B 0 Q S E", &["KB0QSE"]);
    check("K B 0 Q S E de W 7 Q T M", &["KB0QSE", "W7QTM"]);
    check("F stroke W 7 Q T M stroke P", &["W7QTM"]);
}

#[test]
fn locators_numbers_and_references_are_no_signs() {
    check("my locator is J N 5 8 T D", &[]);
    check("J N 5 8 T D", &[]);
    check("grid square J N 5 8", &[]);
    check("locator is J N 5 T D", &[]);
    check("locator I O 9 1 - W 7 Q T M", &["W7QTM"]);
    check("5 9 9 0 0 1", &[]);
    check("you are 5 9 0 0 1", &[]);
    check("1 4 2 5 0 K H", &[]);
    check("frequency is fourteen 2 fifty", &[]);
    check("serial number 1 2 Q", &[]);
    check("serial number 1 2 W 7 Q T M", &["W7QTM"]);
    check("park K 1 2 3 4", &[]);
    check("reference W 7 O 0 0 1", &[]);
    check("reference is G L D 0 0 1", &[]);
    check("name is R U T H", &[]);
    check("name B O B 5 9", &[]);
}
