//! Shares lines out over the cores: programs that are slow to start say many at a time.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

use super::error::SynthesisError;
use crate::scenario::{SpeakerVoice, VoiceFamily};

/// What is said, and by whom.
pub(super) type SpokenLine = (SpeakerVoice, String);

/// The most lines that one start of a program says.
const MOST_LINES: usize = 32;

/// Lines of one voice.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct LineBatch<'a> {
    pub(super) voice: &'a SpeakerVoice,
    pub(super) texts: Vec<&'a str>,
}

/// Sorts `lines` into batches, for that many cores.
pub(super) fn batches<'a>(lines: &[&'a SpokenLine], cores: usize) -> Vec<LineBatch<'a>> {
    let mut order: Vec<LineBatch<'a>> = Vec::new();
    let mut place: HashMap<&SpeakerVoice, usize> = HashMap::new();
    for (voice, text) in lines {
        let index = *place.entry(voice).or_insert(order.len());
        match order.get_mut(index) {
            Some(batch) => batch.texts.push(text),
            None => order.push(LineBatch {
                voice,
                texts: vec![text],
            }),
        }
    }
    let mut batches = Vec::new();
    for LineBatch { voice, texts } in order {
        let size = match voice.family {
            VoiceFamily::Espeak | VoiceFamily::Flite | VoiceFamily::Words => 1,
            VoiceFamily::Festival | VoiceFamily::Piper | VoiceFamily::Pico => {
                texts.len().div_ceil(cores.max(1)).clamp(1, MOST_LINES)
            }
        };
        batches.extend(texts.chunks(size).map(|texts| LineBatch {
            voice,
            texts: texts.to_vec(),
        }));
    }
    batches
}

/// Has every batch said, that many at a time; the first failure ends it.
pub(super) fn on_every_core<'a, 'b, T: Send>(
    batches: &'b [LineBatch<'a>],
    cores: usize,
    say: impl Fn(&LineBatch<'a>) -> Result<T, SynthesisError> + Sync,
    progress: &mut dyn FnMut(f64),
) -> Result<Vec<(&'b LineBatch<'a>, T)>, SynthesisError> {
    let lines: usize = batches.iter().map(|batch| batch.texts.len()).sum();
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel();
    thread::scope(|scope| {
        for _ in 0..cores.min(batches.len()) {
            let (sender, next, say) = (sender.clone(), &next, &say);
            scope.spawn(move || {
                while let Some(batch) = batches.get(next.fetch_add(1, Ordering::Relaxed)) {
                    // Nobody listens any more after a failure.
                    if sender.send((batch, say(batch))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(sender);
        let (mut said, mut done) = (Vec::new(), 0);
        for (batch, result) in receiver {
            said.push((batch, result?));
            done += batch.texts.len();
            progress(done as f64 / lines as f64);
        }
        Ok(said)
    })
}

/// Has those of `texts` said that have words in them; the others are silence.
pub(super) fn with_words(
    texts: &[String],
    say: impl FnOnce(&[String]) -> Result<Vec<Vec<f32>>, SynthesisError>,
) -> Result<Vec<Vec<f32>>, SynthesisError> {
    let has_words = |text: &&String| text.contains(char::is_alphanumeric);
    let worded: Vec<String> = texts.iter().filter(has_words).cloned().collect();
    let mut said = match worded.is_empty() {
        true => Vec::new().into_iter(),
        false => say(&worded)?.into_iter(),
    };
    let clip = |text: &String| match has_words(&text) {
        true => said.next().unwrap_or_default(),
        false => Vec::new(),
    };
    Ok(texts.iter().map(clip).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(family: VoiceFamily, name: &str, text: &str) -> SpokenLine {
        let voice = SpeakerVoice {
            family,
            name: name.to_owned(),
            speed: 160,
            pitch: 50,
        };
        (voice, text.to_owned())
    }

    #[test]
    fn slow_programs_get_the_lines_of_a_voice_together() {
        let lines = [
            line(VoiceFamily::Festival, "kal", "a"),
            line(VoiceFamily::Flite, "slt", "b"),
            line(VoiceFamily::Festival, "ked", "c"),
            line(VoiceFamily::Flite, "slt", "d"),
            line(VoiceFamily::Festival, "kal", "e"),
            line(VoiceFamily::Festival, "kal", "f"),
        ];
        let lines: Vec<&SpokenLine> = lines.iter().collect();
        let check = |cores, should: &[&[&str]]| {
            let batches = batches(&lines, cores);
            let texts: Vec<&[&str]> = batches.iter().map(|batch| &batch.texts[..]).collect();
            assert_eq!(texts, should, "{cores} cores");
        };
        check(1, &[&["a", "e", "f"], &["b"], &["d"], &["c"]]);
        check(2, &[&["a", "e"], &["f"], &["b"], &["d"], &["c"]]);
    }

    #[test]
    fn every_batch_is_said_and_a_failure_is_told() {
        let lines: Vec<SpokenLine> = (0..40)
            .map(|n| line(VoiceFamily::Flite, "slt", &n.to_string()))
            .collect();
        let lines: Vec<&SpokenLine> = lines.iter().collect();
        let batches = batches(&lines, 3);
        let mut fractions = Vec::new();
        let said = on_every_core(&batches, 3, |batch| Ok(batch.texts[0]), &mut |fraction| {
            fractions.push(fraction);
        });
        assert!(
            said.unwrap()
                .iter()
                .all(|(batch, text)| batch.texts[0] == *text)
        );
        assert!(fractions.is_sorted() && fractions.len() == 40 && fractions[39] == 1.0);
        let failed = on_every_core(
            &batches,
            3,
            |_| Err::<(), _>(SynthesisError::Folder(std::io::Error::other("full"))),
            &mut |_| {},
        );
        assert!(matches!(failed, Err(SynthesisError::Folder(_))));
    }

    #[test]
    fn a_line_without_words_is_silence() {
        let texts = ["one", " ...", "two"].map(str::to_owned);
        let said = with_words(&texts, |worded| {
            assert_eq!(worded, ["one", "two"]);
            Ok(vec![vec![1.0], vec![2.0]])
        });
        assert_eq!(said.unwrap(), [vec![1.0], vec![], vec![2.0]]);
        assert_eq!(
            with_words(&texts[1..2], |_| Ok(Vec::new())).unwrap(),
            [vec![0.0; 0]]
        );
    }
}
