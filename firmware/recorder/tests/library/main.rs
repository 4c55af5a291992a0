//! The recorder's library as its callers use it: engine, sound intake, drive scripts and trip
//! numbers, each on a real folder.

#[cfg(test)]
mod engine;
#[cfg(test)]
mod intake;
#[cfg(test)]
mod simulate;
#[cfg(test)]
mod support;
#[cfg(test)]
mod trip_numbers;
