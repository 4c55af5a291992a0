//! `drive fit`.

use std::path::PathBuf;

use anyhow::{Context as _, Result, ensure};
use clap::Args;
use jumpseat_draft::AssemblyInput;
use jumpseat_draft::fit::{self, FitExample, PassedValues};
use jumpseat_values::Span;

use super::score::read;
use crate::progress::DriveProgress;
use crate::truth::DriveTruth;

#[derive(Debug, Args)]
pub(super) struct FitCommand {
    /// For each drive its truth (truth.json), then what `jumpseat draft --heard` wrote of it
    #[arg(required = true, num_args = 2.., value_names = ["TRUTH", "HEARD"])]
    files: Vec<PathBuf>,
    /// The file to write
    #[arg(long)]
    out: PathBuf,
    /// Steps of gradient ascent
    #[arg(long, default_value_t = 300)]
    rounds: usize,
}

impl FitCommand {
    /// Fits to every drive three times: as it is, without its marks, and without what was
    /// heard, because the model has to cope with any of these.
    pub(super) fn run(self) -> Result<()> {
        let (pairs, rest) = self.files.as_chunks::<2>();
        ensure!(
            rest.is_empty(),
            "give a truth and what was heard for every drive"
        );
        let (mut examples, mut as_heard) = (Vec::new(), Vec::new());
        let mut seeds = Vec::new();
        for [truth, heard] in pairs {
            let (truth, drive): (DriveTruth, AssemblyInput) = (read(truth)?, read(heard)?);
            let conversations = conversations(&truth);
            seeds.push(truth.seed);
            as_heard.push(conversations.example(drive.clone()));
            let mut unmarked = drive.clone();
            unmarked.marks.clear();
            let mut unheard = drive.clone();
            unheard.overs.iter_mut().for_each(|over| over.heard = None);
            let mut all = vec![drive];
            if all[0] != unheard {
                all.push(unheard);
            }
            all.push(unmarked);
            examples.extend(all.into_iter().map(|drive| conversations.example(drive)));
        }
        let mut progress = DriveProgress::new("fitting");
        let mut reached = f64::NEG_INFINITY;
        let weights = fit::fit(&examples, self.rounds, &mut |round, mean| {
            reached = mean;
            progress.at(round as f64 / self.rounds as f64);
        });
        let pooling = fit::fit_pooling(&as_heard);
        let shares = fit::fit_shares(&as_heard, &pooling);
        let file = serde_json::json!({
            "made_by": "drive fit; see DEVELOPERS.md",
            "seeds": seeds,
            "rounds": self.rounds,
            "mean_log_probability": (reached * 1e3).round() / 1e3,
            "pooling": pooling,
            "shares": shares,
            "weights": weights,
        });
        let text = serde_json::to_string_pretty(&file)? + "\n";
        std::fs::write(&self.out, text)
            .with_context(|| format!("cannot write {}", self.out.display()))?;
        println!(
            "{}: {} weights from {} drives, log-probability of the truth {reached:.2} a drive",
            self.out.display(),
            weights.len(),
            pairs.len()
        );
        Ok(())
    }
}

/// Conversations of a drive: contacts of the same time are one.
#[derive(Default)]
struct TrueConversations {
    /// From start to end.
    spans: Vec<Span>,
    /// The stations of each.
    calls: Vec<Vec<String>>,
    /// Reports and names that they exchanged.
    passed: Vec<Vec<PassedValues>>,
}

impl TrueConversations {
    fn example(&self, drive: AssemblyInput) -> FitExample {
        FitExample {
            drive,
            contacts: self.spans.clone(),
            calls: self.calls.clone(),
            passed: self.passed.clone(),
        }
    }
}

fn conversations(truth: &DriveTruth) -> TrueConversations {
    let mut all = TrueConversations::default();
    for contact in &truth.contacts {
        let goes_on = all
            .spans
            .last()
            .is_some_and(|last| contact.on_s < last.end_s);
        if !goes_on {
            all.spans.push(Span::new(contact.on_s, contact.off_s));
            all.calls.push(Vec::new());
            all.passed.push(Vec::new());
        }
        if let Some(last) = all.spans.last_mut() {
            last.end_s = last.end_s.max(contact.off_s);
        }
        if let Some(calls) = all.calls.last_mut() {
            calls.push(contact.call.clone());
        }
        if let Some(passed) = all.passed.last_mut() {
            passed.push(PassedValues {
                sent: contact.sent.clone(),
                received: contact.received.clone(),
                name: contact.name.clone(),
            });
        }
    }
    all
}
