//! The functions that windowed-sinc filters are made of.

use std::f32::consts::PI;

pub(crate) fn sinc(x: f32) -> f32 {
    if x.abs() < 1e-6 {
        1.0
    } else {
        (PI * x).sin() / (PI * x)
    }
}

/// The window over 0 to 1 (Blackman's own coefficients 0.42, 0.5, 0.08).
pub(crate) fn blackman(at: f32) -> f32 {
    0.42 - 0.5 * (2.0 * PI * at).cos() + 0.08 * (4.0 * PI * at).cos()
}
