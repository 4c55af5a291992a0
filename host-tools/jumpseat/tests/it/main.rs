//! The command as a person runs it: what it prints, how it exits, what it leaves.
#![cfg(test)]

mod arrive;
mod backups;
mod bad_input;
mod case;
mod check;
mod confirm;
mod demo;
mod draft;
mod export;
mod filters;
mod formats;
mod hear;
mod import;
#[cfg(unix)]
mod interrupted;
mod keep;
mod lists;
mod power_up;
#[cfg(unix)]
mod private;
mod pull;
mod said;
mod terminal;
mod undo;
