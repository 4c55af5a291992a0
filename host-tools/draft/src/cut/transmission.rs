//! What counts as a transmission, and the setting it was made on.

use jumpseat_values::{DialSetting, Span};

use crate::drive::{AssemblyInput, DriveOver, OverDirection};
use crate::{DraftRules, dial};

/// When the operator transmitted; `None` for a received over and for a bumped key.
pub(super) fn transmission(over: &DriveOver, rules: &DraftRules) -> Option<Span> {
    let span = Span::new(over.start_s, over.end_s);
    let long = span.length_s() >= rules.shortest_tx_s;
    (over.direction == OverDirection::Tx && long).then_some(span)
}

/// The setting of the dial in a stretch of an over. The dial's reading lags the dial.
pub(super) fn setting_in<'a>(
    drive: &'a AssemblyInput,
    span: &Span,
    rules: &DraftRules,
) -> Option<&'a DialSetting> {
    let settled_s = (span.start_s + rules.dial_lag_s).min(span.end_s);
    dial::setting_at(&drive.dial, settled_s)
}
