//! Overs, marks and tokens to draft contacts, each with evidence and doubts.
