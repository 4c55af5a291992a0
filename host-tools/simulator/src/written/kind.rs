//! What occurs in a conversation: the rows of the judge's table.

/// What occurs in a conversation; it can be several things.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct WrittenKind(&'static str);

/// Every kind, with what it means. One of the table below stands for each `kinds:` word.
const KINDS: [(&str, &str); KIND_COUNT] = [
    ("plain-letters", "signs spelled in plain letters"),
    (
        "mixed-alphabet",
        "spelling words of several alphabets mixed",
    ),
    ("old-alphabet", "older or home-made spelling words"),
    ("oh-zed", "a nought said \"oh\", a Z said \"zed\""),
    ("stroke", "an addition said as stroke or slash"),
    (
        "mobile-portable",
        "\"mobile\" or \"portable\" after the sign, without stroke",
    ),
    ("maritime-mobile", "a station at sea"),
    ("special-number", "a special sign with several figures"),
    (
        "short-sign",
        "a sign with one letter before or after the figure",
    ),
    ("partial", "a part of a sign is called"),
    (
        "correction-letter",
        "a misheard letter or figure is corrected",
    ),
    ("correction-own", "the operator's own sign is misheard"),
    ("correction-twice", "a correction needs a second try"),
    ("report-by", "\"five by nine\""),
    ("report-and", "\"five and nine\""),
    ("report-over", "\"ten over\""),
    ("report-between", "a range of reports"),
    ("report-words", "a report in words"),
    ("report-bare", "the figures of a report alone"),
    ("report-twice", "a report said twice"),
    ("report-none", "a contact without reports"),
    ("name-spelled", "a spelled name"),
    ("name-handle", "\"handle\", \"op here\""),
    ("name-passing", "a name said in passing"),
    ("first-names-only", "friends who use first names"),
    ("place", "a town"),
    ("state", "a state or province"),
    ("county", "a county"),
    ("locator", "a locator"),
    ("park", "a park's reference"),
    ("summit", "a summit's reference"),
    ("island", "an island's reference"),
    ("lighthouse", "a lighthouse's reference"),
    ("serial", "serial numbers"),
    ("zone", "zones"),
    ("park-to-park", "both are in parks"),
    ("net", "a net's check-ins"),
    ("relay", "a third station relays"),
    ("run", "several callers, one after the other"),
    ("ends-qrz", "a contact that ends in QRZ"),
    ("tail-ender", "somebody calls into the end of a contact"),
    ("doubling", "two at once"),
    (
        "others-station",
        "the station that the operator calls takes others",
    ),
    ("faded", "the caller fades before anything is exchanged"),
    ("tuning-across", "fragments while the dial moves"),
    ("hunting", "short contacts along a band"),
    ("moves", "both move within a contact"),
    ("overheard", "two others"),
    ("long-chat", "10 to 30 minutes"),
    ("own-activation", "the operator is the one who activates"),
    (
        "second-operator",
        "another person at the operator's microphone",
    ),
    ("passenger", "a passenger speaks"),
    ("navigation-voice", "the navigation speaks"),
    ("repeater", "over a repeater"),
    ("simplex-fm", "frequency modulation without a repeater"),
    ("unanswered", "nobody comes"),
];

const KIND_COUNT: usize = 56;

impl WrittenKind {
    /// The kind with this word.
    pub fn named(word: &str) -> Option<Self> {
        KINDS
            .iter()
            .find(|(name, _)| *name == word)
            .map(|(name, _)| Self(name))
    }

    /// All, in the order of the table.
    pub fn all() -> impl Iterator<Item = Self> {
        KINDS.iter().map(|(name, _)| Self(name))
    }

    /// The word.
    pub fn word(self) -> &'static str {
        self.0
    }

    /// What it means, in a few words.
    pub fn meaning(self) -> &'static str {
        KINDS
            .iter()
            .find(|(name, _)| *name == self.0)
            .map_or("", |(_, meaning)| meaning)
    }
}
