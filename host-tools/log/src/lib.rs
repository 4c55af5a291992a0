//! The logbook (SQLite) and its open formats.
