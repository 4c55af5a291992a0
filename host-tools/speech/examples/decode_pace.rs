//! How fast the decoder is, alone: scores that `hear_bench --cache` kept, decoded several times
//! on one thread. On standard error the least and the middle time of all files together; on
//! standard output every sign with its alternatives, to compare two programs.
//!
//! `decode_pace RUNS KEPT …`

use std::error::Error;
use std::fs;
use std::time::Instant;

use jumpseat_speech::{Hearing, RecogniserError, StretchScores};

/// Seconds of a step of scores.
const STEP_S: f64 = 0.04;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let runs: usize = args.next().ok_or("how many runs?")?.parse()?;
    let mut files: Vec<(String, Vec<StretchScores>)> = Vec::new();
    for name in args {
        let kept = kept_scores(&fs::read(&name)?).ok_or("cut short")?;
        files.push((name, kept));
    }
    let mut taken_s: Vec<f64> = Vec::new();
    for run in 0..runs {
        let began = Instant::now();
        for (name, kept) in &files {
            let hearing = decoded(kept)?;
            if run == 0 {
                print(name, &hearing);
            }
        }
        taken_s.push(began.elapsed().as_secs_f64());
    }
    taken_s.sort_by(f64::total_cmp);
    let value_s = STEP_S / jumpseat_vocabulary::output_count() as f64;
    let values = files.iter().flat_map(|(_, kept)| kept);
    let length_s = values.map(|s| s.plain.len()).sum::<usize>() as f64 * value_s;
    let middle_s = taken_s.get(runs / 2).ok_or("no runs")?;
    eprintln!(
        "{length_s:.0} s of stretches in {:.4} s, least of {runs}; the middle one {middle_s:.4} s, \
         {:.0} times real time",
        taken_s[0],
        length_s / middle_s
    );
    Ok(())
}

fn decoded(kept: &[StretchScores]) -> Result<Hearing, RecogniserError> {
    let mut hearing = Hearing::default();
    for stretch in kept {
        hearing.add_stretch(stretch.start_s, &stretch.plain, |steps| {
            Ok::<_, RecogniserError>(stretch.slowed_part(steps))
        })?;
    }
    Ok(hearing)
}

fn print(name: &str, hearing: &Hearing) {
    for sign in &hearing.signs {
        let decoder = |p: Option<f64>| p.unwrap_or(f64::NAN);
        print!(
            "{name} {:?} {} {:.8}",
            sign.spans_s,
            sign.text,
            decoder(sign.decoder)
        );
        for other in &sign.alternatives {
            print!(" {} {:.8}", other.text, decoder(other.decoder));
        }
        println!();
    }
}

/// The scores in a kept file (`hear_bench`): seconds of sound, then for each stretch its
/// beginning in seconds and two lists, each a count and so many log-probabilities.
fn kept_scores(bytes: &[u8]) -> Option<Vec<StretchScores>> {
    let words = bytes.chunks_exact(4).filter_map(|b| b.try_into().ok());
    let mut words = words.skip(1);
    let mut out = Vec::new();
    while let Some(start) = words.next() {
        let mut list = || {
            let count = u32::from_le_bytes(words.next()?) as usize;
            let values: Vec<f32> = words.by_ref().take(count).map(f32::from_le_bytes).collect();
            (values.len() == count).then_some(values)
        };
        out.push(StretchScores {
            start_s: f64::from(f32::from_le_bytes(start)),
            plain: list()?,
            slowed: list()?,
        });
    }
    Some(out)
}
