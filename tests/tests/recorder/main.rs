//! The real recorder, alone: every sample is there, and what is left when it is killed.

#[cfg(test)]
mod every_sample;
#[cfg(test)]
mod killed;
#[cfg(test)]
mod samples;
#[cfg(test)]
mod server_gone;
