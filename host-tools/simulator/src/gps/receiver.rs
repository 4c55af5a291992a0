//! Simulates a receiver in a car that starts after a night in the cold.

use chrono::TimeDelta;

use super::sentence::{self, ReceiverKnowledge, SimulatedFix};
use crate::plan::{DrivePlan, round_ms};
use crate::random::SeededRandom;
use crate::scenario::TruePosition;

/// Metres in a degree of latitude.
const DEGREE_M: f64 = 111_195.0;

/// Every sentence of the drive with the time at which it has arrived, in seconds.
///
/// First the receiver knows no date; then it has one from its own clock, which
/// is some seconds wrong, and no fix; then it has a fix. In a tunnel it keeps
/// its time and loses its place.
pub fn sentences(plan: &DrivePlan) -> Vec<(f64, String)> {
    let scenario = &plan.scenario;
    let receiver = &scenario.receiver;
    let mut random = SeededRandom::stream(scenario.seed, "receiver");
    let to_full_second_s = 1.0 - f64::from(scenario.start.timestamp_subsec_millis()) / 1e3;
    let mut all = Vec::new();
    let mut second = 0.0;
    while second + to_full_second_s < plan.length_s {
        let named_s = to_full_second_s + second;
        second += 1.0;
        let latency_s = random.between(receiver.latency_s.0, receiver.latency_s.1);
        let wander_m = [random.normal(), random.normal()].map(|x| f64::from(x) * 2.0);
        let hdop = random.between(0.8, 1.4);
        let tunnel = receiver
            .tunnel
            .is_some_and(|tunnel| tunnel.contains(named_s));
        let early = named_s < receiver.fix_after_s;
        let error_s = if early {
            receiver.early_clock_error_s
        } else {
            0.0
        };
        let utc =
            scenario.start + TimeDelta::milliseconds(((named_s + error_s) * 1e3).round() as i64);
        let knowledge = ReceiverKnowledge {
            utc: (named_s >= receiver.date_after_s).then_some(utc),
            fix: (!early && !tunnel).then(|| {
                let true_place = plan.position(named_s);
                let (speed_mps, course) = scenario.road.motion(named_s);
                SimulatedFix {
                    place: TruePosition {
                        lat: true_place.lat + wander_m[0] / DEGREE_M,
                        lon: true_place.lon + wander_m[1] / DEGREE_M,
                    },
                    height_m: scenario.road.height_m,
                    speed_mps,
                    course,
                    hdop,
                }
            }),
        };
        let arrived_s =
            (0..).map(|number| round_ms(named_s + latency_s + 0.03 * f64::from(number)));
        all.extend(arrived_s.zip(sentence::sentences_of_second(&knowledge)));
    }
    all
}
