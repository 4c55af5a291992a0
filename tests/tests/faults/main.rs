//! Bad input to the whole system: clear words, the right exit code, nothing lost.

#[cfg(test)]
mod home;
#[cfg(test)]
mod hostile_card;
#[cfg(test)]
mod logbook;
#[cfg(test)]
mod noise_trip;
#[cfg(test)]
mod packed;
#[cfg(test)]
mod recorder;
#[cfg(test)]
mod upgrade;
