//! What happens to a recorder's inputs during a drive.

use serde::{Deserialize, Serialize};

use crate::scenario::ScriptedDial;

/// One line of the events.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveScriptEvent {
    /// Seconds from the start of the drive.
    pub at_s: f64,
    /// What happens.
    #[serde(flatten)]
    pub input: ScriptInput,
}

/// What happens to a recorder's inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ScriptInput {
    /// The key line, bounces included.
    Ptt(bool),
    /// The mark button: pressed or released, bounces included.
    Mark(bool),
    /// A sentence of the satellite receiver, without its line end.
    Nmea(String),
    /// The dial of the rig.
    Dial(ScriptedDial),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(input: ScriptInput, json: &str) {
        let event = DriveScriptEvent {
            at_s: 12.345,
            input,
        };
        assert_eq!(serde_json::to_string(&event).unwrap(), json);
        assert_eq!(
            serde_json::from_str::<DriveScriptEvent>(json).unwrap(),
            event
        );
    }

    #[test]
    fn an_event_is_one_flat_object() {
        check(ScriptInput::Ptt(true), r#"{"at_s":12.345,"ptt":true}"#);
        check(ScriptInput::Mark(false), r#"{"at_s":12.345,"mark":false}"#);
        check(
            ScriptInput::Nmea("$GPZDA*48".into()),
            r#"{"at_s":12.345,"nmea":"$GPZDA*48"}"#,
        );
        let dial = ScriptedDial {
            hz: 14_250_000,
            mode: "USB".into(),
        };
        check(
            ScriptInput::Dial(dial),
            r#"{"at_s":12.345,"dial":{"hz":14250000,"mode":"USB"}}"#,
        );
    }
}
