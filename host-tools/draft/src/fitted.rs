//! The figures that `drive fit` fitted to simulated drives.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::feature::FEATURE_NAMES;
use crate::spoken::SpokenFormShares;

static FITTED: LazyLock<FittedModel> = LazyLock::new(|| {
    let file: FitFile = serde_json::from_str(include_str!("../data/fit.json")).unwrap_or_default();
    let weight = |name: &&str| file.weights.get(*name).copied().unwrap_or(0.0);
    FittedModel {
        weights: FEATURE_NAMES.iter().map(weight).collect(),
        pooling: file.pooling,
        shares: file.shares,
    }
});

/// The form of `data/fit.json`, as far as it is read here.
#[derive(Debug, Default, Deserialize)]
struct FitFile {
    weights: BTreeMap<String, f64>,
    pooling: MentionPooling,
    shares: SpokenFormShares,
}

/// All that was fitted.
#[derive(Debug)]
pub(crate) struct FittedModel {
    /// Weights of the features, in the order of their names.
    pub(crate) weights: Vec<f64>,
    /// How mentions of a call sign add up.
    pub(crate) pooling: MentionPooling,
    /// How surely each way of saying something says it.
    pub(crate) shares: SpokenFormShares,
}

/// What ships.
pub(crate) fn fitted() -> &'static FittedModel {
    &FITTED
}

/// How mentions of one call sign add up to a probability.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MentionPooling {
    /// What a mention gives to a sign that it did not list, 0 to 1.
    pub unheard: f64,
    /// Every letter of distance makes an unlisted sign less probable by this factor.
    pub letter: f64,
    /// A sign is heard without a letter at one of its ends with this probability, 0 to 1.
    pub cut: f64,
    /// The share with which the prior of shape and allocation counts: how rare forms are
    /// in the air says less about what was said than the sound does.
    pub shape: f64,
    /// The share with which each mention by the operator counts. Mentions are not
    /// independent: what sounds wrong once sounds wrong again.
    pub sent: f64,
    /// The same for each mention by others.
    pub received: f64,
    /// Slope and shift, in logits, of the map from the sum's probability to one that is
    /// right as often as it says.
    pub slope: f64,
    /// See `slope`.
    pub shift: f64,
}

impl Default for MentionPooling {
    /// Where fitting begins.
    fn default() -> Self {
        Self {
            unheard: 0.002,
            letter: 0.2,
            cut: 0.1,
            shape: 0.3,
            sent: 1.0,
            received: 1.0,
            slope: 1.0,
            shift: 0.0,
        }
    }
}

impl MentionPooling {
    /// A probability as it is stated to a person.
    pub(crate) fn stated(&self, probability: f64) -> f64 {
        let inside = probability.clamp(1e-3, 1.0 - 1e-3);
        let logit = self.slope * (inside / (1.0 - inside)).ln() + self.shift;
        1.0 / (1.0 + (-logit).exp())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_ships_is_read_and_has_a_weight_for_every_feature() {
        let file: FitFile = serde_json::from_str(include_str!("../data/fit.json")).unwrap();
        let mut names: Vec<&str> = FEATURE_NAMES.to_vec();
        names.sort_unstable();
        let weights: Vec<&str> = file.weights.keys().map(String::as_str).collect();
        assert_eq!(weights, names);
        assert_eq!(fitted().pooling, file.pooling);
        assert_eq!(fitted().shares, file.shares);
    }

    #[test]
    fn a_stated_probability_keeps_the_order_and_stays_inside() {
        let pooling = MentionPooling {
            slope: 0.6,
            shift: -0.2,
            ..MentionPooling::default()
        };
        let stated: Vec<f64> = [0.0, 0.1, 0.5, 0.9, 1.0]
            .map(|p| pooling.stated(p))
            .to_vec();
        assert!(stated.is_sorted(), "{stated:?}");
        assert!(stated.iter().all(|p| (0.0..=1.0).contains(p)), "{stated:?}");
    }
}
