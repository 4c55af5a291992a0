//! What words mean in a contact.

/// The meaning of a word in a contact, whatever the word is and whatever its language. The
/// last column of `model/vocabulary.tsv` names it in snake case. Which words mean what is
/// common practice on the air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WordSense {
    /// With 'mobile', after a call sign: the station is in an aircraft.
    Aeronautical,
    /// A letter whose name is said for the figure zero too ('oh').
    AlsoZero,
    /// Joins two figures of one report ('five and nine').
    And,
    /// 'are', 'you're': a report, or whose it is, follows.
    Are,
    /// What 'bye' is heard as; said twice it is a farewell.
    Bye,
    /// 'copy': a report may follow.
    Copy,
    /// 'correct': what was said is asked about or confirmed.
    Correct,
    /// A call to anybody ('cq').
    GeneralCall,
    /// Thanks and greetings, after which the other operator's name is said.
    Greeting,
    /// 'here', as in 'name here is'.
    Here,
    /// 'is': what was announced follows.
    Is,
    /// Announces a locator.
    LocatorFollows,
    /// Low power ('qrp'); after a stroke, part of the call sign.
    LowPower,
    /// With 'mobile', after a call sign: the station is on a ship.
    Maritime,
    /// After a call sign: the station moves.
    Mobile,
    /// 'name': a first name follows.
    Name,
    /// Announces a number that is no report ('number', 'serial', 'reference').
    NumberFollows,
    /// Announces where a station is ('qth').
    OwnPlace,
    /// After a call sign: the station is away from home.
    Portable,
    /// 'report', 'signal': a report follows.
    Report,
    /// 'roger': what was said before was understood.
    Roger,
    /// The station ends its part of the contact ('clear').
    SigningOff,
    /// Announces the reference of a place to be visited ('park', 'summit').
    SiteFollows,
    /// The stroke of a call sign.
    Stroke,
    /// Asks who called ('qrz').
    WhoCalls,
    /// 'you'.
    You,
    /// 'your'.
    Your,
}
