//! Drafts of drives that are simulated, recorded, heard and drafted by the built programs.

#[cfg(test)]
mod bad_trips;
#[cfg(test)]
mod floors;
#[cfg(test)]
mod written;
