use super::*;

const TEXT: &str = "This is W A eight Q, Whiskey Alfa eight Quebec, five nine.";

fn voice(family: VoiceFamily, name: &str, speed: u32) -> SpeakerVoice {
    SpeakerVoice {
        family,
        name: name.to_owned(),
        speed,
        pitch: 44,
    }
}

/// `None` where the program or the voice is not installed.
fn spoken(voice: &SpeakerVoice) -> Option<SpokenClip> {
    match SpeechSynthesiser::new().unwrap().speak(voice, TEXT) {
        Ok(clip) => Some(clip),
        Err(absent @ (SynthesisError::Start { .. } | SynthesisError::Voice { .. })) => {
            println!("not tested: {absent}");
            None
        }
        Err(error) => panic!("{error}"),
    }
}

fn check(family: VoiceFamily, name: &str) {
    let Some(clip) = spoken(&voice(family, name, 160)) else {
        return;
    };
    let told = voice(family, name, 160).to_string();
    assert!(
        (3.0..7.5).contains(&clip.seconds()),
        "{told}: {} s",
        clip.seconds()
    );
    assert!((active_level(clip.samples()) - 1.0).abs() < 0.02, "{told}");
    // Slower words last longer, about as much as was asked for.
    let slow = spoken(&voice(family, name, 128)).unwrap();
    let ratio = slow.seconds() / clip.seconds();
    assert!((1.1..1.4).contains(&ratio), "{told}: {ratio}");
    // Among other lines the same bytes come, and on one core as on many.
    let among = ["Roger.", TEXT, "...", "Seventy three.", TEXT];
    let speaker = SpeechSynthesiser::new().unwrap();
    let clips = speaker.say(&voice(family, name, 160), &among).unwrap();
    let roger = clips[0].seconds();
    assert!((0.2..1.2).contains(&roger), "{told}: {roger} s");
    for again in [&clips[1], &clips[4]] {
        assert!(again.samples() == clip.samples(), "{told}");
    }
}

#[test]
fn espeak_speaks() {
    check(VoiceFamily::Espeak, "en-us+m3");
}

#[test]
fn flite_speaks() {
    check(VoiceFamily::Flite, "slt");
}

#[test]
fn flite_says_what_its_voice_of_pairs_cannot() {
    let mut speaker = SpeechSynthesiser::new().unwrap();
    match speaker.speak(&voice(VoiceFamily::Flite, "kal", 160), "Yn five.") {
        Ok(clip) => assert!(clip.seconds() > 0.4, "{} s", clip.seconds()),
        Err(absent @ SynthesisError::Start { .. }) => println!("not tested: {absent}"),
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn festival_speaks() {
    for name in ["cmu_us_slt_arctic_hts", "kal_diphone", "ked_diphone"] {
        check(VoiceFamily::Festival, name);
    }
}

#[test]
fn pico_speaks() {
    for name in ["en-US", "en-GB"] {
        check(VoiceFamily::Pico, name);
    }
}

/// `PIPER_VOICE` names the `.onnx` of some voice.
#[test]
fn piper_speaks() {
    match std::env::var("PIPER_VOICE") {
        Ok(name) => check(VoiceFamily::Piper, &name),
        Err(_) => println!("not tested: piper, as no voice is named in PIPER_VOICE"),
    }
}

#[test]
fn what_is_absent_is_told_with_what_to_install() {
    let mut speaker = SpeechSynthesiser::new().unwrap();
    speaker.programs.piper = "/nowhere/piper".into();
    speaker.programs.pico_python = "/nowhere/python".into();
    for (family, install) in [
        (VoiceFamily::Piper, "piper-tts"),
        (VoiceFamily::Pico, "py-nanotts"),
    ] {
        let error = speaker.speak(&voice(family, "x", 160), TEXT).unwrap_err();
        assert!(matches!(error, SynthesisError::Start { .. }), "{error}");
        assert!(error.to_string().contains(install), "{error}");
    }
}
