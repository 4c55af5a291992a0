//! Reports in the text of overs.

use super::{check, check_each, found};

/// What is said, as text, and what must come of it where it is received: "sent received name".
const SAID: &[(&str, &str)] = &[
    ("you're five eight", "- 58 -"),
    ("you are five and nine", "- 59 -"),
    ("you're five by nine here in tulsa", "- 59 -"),
    ("you are fifty nine", "- 59 -"),
    ("you're five nine plus ten", "- 59 -"),
    ("you're five nine ten over", "- 59 -"),
    ("you are five nine plus twenty db", "- 59 -"),
    ("you are a solid fifty seven", "- 57 -"),
    ("you're a good five seven into kansas", "- 57 -"),
    ("got you at five six", "- 56 -"),
    ("i have you at about four four with fading", "- 44 -"),
    ("your report is five five", "- 55 -"),
    ("report is five seven five seven", "- 57 -"),
    ("signal report is four by six", "- 46 -"),
    ("your signal is five seven in denver", "- 57 -"),
    ("your signal report here is a five six", "- 56 -"),
    ("my report to you is five three", "- 53 -"),
    ("copy you five seven", "- 57 -"),
    ("hearing you at three three through the noise", "- 33 -"),
    ("reading you five by five", "- 55 -"),
    ("i'll give you a five four", "- 54 -"),
    ("giving you a four three", "- 43 -"),
    ("you're coming in five seven", "- 57 -"),
    ("you're coming through about a three four", "- 34 -"),
    ("you are booming in here five nine plus", "- 59 -"),
    ("you're in denver five seven", "- 57 -"),
    ("you're running five eight right now", "- 58 -"),
    ("you are an honest five nine", "- 59 -"),
    ("your five eight", "- 58 -"),
    ("your fifty seven thanks for the call", "- 57 -"),
    ("your five eight five eight in texas", "- 58 -"),
    ("you're fife niner", "- 59 -"),
    ("you are five uh seven", "- 57 -"),
    ("you're five seven seven three", "- 57 -"),
    ("you're five seven seventy three", "- 57 -"),
    ("five nine to you as well", "- 59 -"),
    ("and a five seven for you", "- 57 -"),
    ("roger five seven here", "- 57 -"),
    ("signals are five six on the mobile", "- 56 -"),
    ("you were five nine all the way", "- 59 -"),
    ("putting you at five two", "- 52 -"),
    ("you are 59", "- 59 -"),
    ("you're 5 7 today", "- 57 -"),
    (
        "i'd call it a five five report for you you're weak",
        "- - -",
    ),
    ("you're pushing five nine", "- 59 -"),
    ("you've got a four five over here", "- 45 -"),
    ("you are five and a nine", "- 59 -"),
    ("so you are five seven my name is tom", "- 57 Tom"),
    ("the report is five seven", "- 57 -"),
    ("you're five seven five seven roger", "- 57 -"),
    ("your signal into my truck is five seven", "- 57 -"),
    ("roger pete four seven my rig is small", "- 47 -"),
    ("you are four seven two kilo seven", "- 47 -"),
    ("you are four seven | | | three nine", "- 47 -"),
    // No cue, no report.
    ("see you at five fifty", "- - -"),
    ("see you on five two simplex", "- - -"),
    ("you have twenty five stations", "- - -"),
    ("five nine", "- - -"),
    ("the road is five nine", "- - -"),
    ("highway fifty nine", "- - -"),
    ("you are on highway fifty nine", "- - -"),
    ("you are at exit fifty seven", "- - -"),
    ("you're at mile fifty five", "- - -"),
    ("you're fifty five years old", "- - -"),
    ("you are fifty seven miles away", "- - -"),
    ("you have fifty five watts", "- - -"),
    ("you're at fifty five degrees", "- - -"),
    ("it's five forty five o'clock", "- - -"),
    ("you will be here at five fifty five", "- - -"),
    ("in fifty nine i was licensed", "- - -"),
    ("you were licensed in fifty nine", "- - -"),
    ("back in nineteen fifty seven", "- - -"),
    ("you were born in nineteen fifty nine", "- - -"),
    ("you are number five nine", "- - -"),
    ("your number is five nine three two", "- - -"),
    ("you're on five nine five oh", "- - -"),
    ("you are between five and seven", "- - -"),
    ("you are five or six", "- - -"),
    ("you're not five nine", "- - -"),
    ("is that your fifty seven chevy", "- - -"),
    ("your five five amplifier", "- - -"),
    ("my signal was five nine on the other band", "- - -"),
    ("my signal is five nine", "- - -"),
    ("his signal is five nine", "- - -"),
    ("the weather report is fifty five degrees", "- - -"),
    ("the weather report is forty five", "- - -"),
    ("thanks for the five nine", "- - -"),
    ("thank you five nine", "- - -"),
    ("thanks for the five nine to you", "- - -"),
    ("you gave me five nine", "- - -"),
    ("they gave me a five seven", "- - -"),
    ("you were five nine yesterday", "- - -"),
    ("you were five seven earlier", "- - -"),
    ("i worked you on channel four five", "- - -"),
    ("you are my fifty fifth contact", "- - -"),
    ("you are contact fifty five", "- - -"),
    ("you're station four two today", "- - -"),
    ("you're five", "- - -"),
    ("you are nine five", "- - -"),
    ("you're fourteen two five five", "- - -"),
    ("you are up four five kilohertz", "- - -"),
    ("you can do fifty five in town", "- - -"),
    ("you need four five people", "- - -"),
    ("i am fifty nine", "- - -"),
    ("we are four four in the car", "- - -"),
    ("november five five lima", "- - -"),
    ("zone four five you", "- - -"),
    ("i have twenty five countries", "- - -"),
    ("you're about twenty five hundred miles off", "- - -"),
    ("you see five three trucks", "- - -"),
    ("you're at three five oh watts", "- - -"),
];

#[test]
fn reports_are_what_the_words_around_them_make_one() {
    check_each("r", SAID);
    // The operator's reports are read in the same way.
    for (text, expected) in SAID {
        let received = expected.split(' ').nth(1);
        let sent = found(&[&format!("t ~ {text}")]);
        assert_eq!(sent[0].split(' ').next(), received, "{text}");
    }
}

#[test]
fn text_and_figures_support_or_contradict_each_other() {
    check(&["r you are 57!? ~ you are five? seven"], &["- 57 -"]);
    check(&["r you are 57! ~ you are five nine"], &["- - -"]);
    check(&["r ~ you are five? seven"], &["- - -"]);
    check(&["r ~ you are five? seven? five seven"], &["- 57 -"]);
}
