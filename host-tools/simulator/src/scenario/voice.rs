//! Who speaks: a voice of a speech program, or a recorded person.

/// Where a voice comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum VoiceFamily {
    /// The program espeak-ng.
    Espeak,
    /// The program flite.
    Flite,
    /// The program festival.
    Festival,
    /// The program piper (piper-tts for Python).
    Piper,
    /// The module py-nanotts of Python.
    Pico,
    /// Recordings of words; what was not recorded is said by espeak-ng.
    Words,
}

/// A voice.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct SpeakerVoice {
    /// Where it comes from.
    pub family: VoiceFamily,
    /// Its name there, such as "en-us+m3"; the path of a Piper voice's `.onnx`, with
    /// its `.json` beside it; the folder of word recordings.
    pub name: String,
    /// Words a minute.
    pub speed: u32,
    /// 0 to 99, 50 is usual.
    pub pitch: u32,
}

impl std::fmt::Display for SpeakerVoice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let family = match self.family {
            VoiceFamily::Espeak => "espeak-ng",
            VoiceFamily::Flite => "flite",
            VoiceFamily::Festival => "festival",
            VoiceFamily::Piper => "piper",
            VoiceFamily::Pico => "pico",
            VoiceFamily::Words => "words",
        };
        // Of a path only its name: where it lies is nobody's business.
        let name = std::path::Path::new(&self.name).file_name();
        write!(f, "{family} {}", name.unwrap_or_default().to_string_lossy())
    }
}
