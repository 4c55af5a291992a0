//! The command as a person runs it: what it prints, how it exits, what it leaves.

#[cfg(test)]
mod arrive;
#[cfg(test)]
mod backups;
#[cfg(test)]
mod bad_input;
#[cfg(test)]
mod case;
#[cfg(test)]
mod check;
#[cfg(test)]
mod confirm;
#[cfg(test)]
mod demo;
#[cfg(test)]
mod draft;
#[cfg(test)]
mod export;
#[cfg(test)]
mod filters;
#[cfg(test)]
mod formats;
#[cfg(test)]
mod hear;
#[cfg(test)]
mod import;
#[cfg(test)]
#[cfg(unix)]
mod interrupted;
#[cfg(test)]
mod keep;
#[cfg(test)]
mod lists;
#[cfg(test)]
mod power_up;
#[cfg(test)]
#[cfg(unix)]
mod private;
#[cfg(test)]
mod pull;
#[cfg(test)]
mod terminal;
#[cfg(test)]
mod undo;
