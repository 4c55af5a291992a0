//! Reads, checks and salvages a trip folder; resolves UTC and place.
