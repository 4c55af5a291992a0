//! The thresholds of the assembly that are not fitted.

/// Figures of the rules, in seconds and hertz.
///
/// All are from common practice on voice channels: answers come within a few
/// seconds, and people clarify a voice by a few hundred hertz at most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DraftRules {
    /// A transmission shorter than this is a bumped key, not an over.
    pub shortest_tx_s: f64,
    /// This much speech within one received over counts as an answer.
    pub least_answer_s: f64,
    /// A key line that is down for longer in one go may be stuck: nobody talks so long,
    /// and repeaters cut off before.
    pub stuck_key_s: f64,
    /// An answer begins at most this long after the key came up.
    pub answer_within_s: f64,
    /// After the last transmission, speech that begins within this time and
    /// goes on without a longer pause still belongs to the contact.
    pub farewell_pause_s: f64,
    /// Listening for longer than this between two transmissions raises a doubt.
    pub listening_s: f64,
    /// Dial moves up to this far from the contact's first setting are nudges.
    pub nudge_hz: u64,
    /// The dial's reading may lag the dial by this much.
    pub dial_lag_s: f64,
    /// A mark belongs to a contact that ended up to this long before it.
    pub mark_late_s: f64,
    /// A mark belongs to a contact that begins up to this long after it.
    pub mark_early_s: f64,
    /// Marks in one contact further apart than this raise a doubt.
    pub marks_apart_s: f64,
    /// An entry for a lone mark begins this long before the mark.
    pub look_back_s: f64,
    /// An entry for a lone mark ends this long after the mark.
    pub look_on_s: f64,
}

impl Default for DraftRules {
    fn default() -> Self {
        Self {
            shortest_tx_s: 0.4,
            least_answer_s: 0.6,
            stuck_key_s: 240.0,
            answer_within_s: 8.0,
            farewell_pause_s: 2.5,
            listening_s: 180.0,
            nudge_hz: 500,
            dial_lag_s: 1.0,
            mark_late_s: 45.0,
            mark_early_s: 15.0,
            marks_apart_s: 60.0,
            look_back_s: 60.0,
            look_on_s: 10.0,
        }
    }
}
