//! The drive simulator and its scorer, end-to-end tests, fault tests and outside checks.
