//! The real recorder on real parts: every sample is there, what is left when it is
//! killed, and what it does when a part goes away and comes back.

#[cfg(test)]
mod dial;
#[cfg(test)]
mod every_sample;
#[cfg(test)]
mod hostile_card;
#[cfg(test)]
mod ignition;
#[cfg(test)]
mod killed;
#[cfg(test)]
mod numbers;
#[cfg(test)]
mod pins;
#[cfg(test)]
mod preload;
#[cfg(test)]
mod receiver;
#[cfg(test)]
mod samples;
#[cfg(test)]
mod server_gone;
#[cfg(test)]
mod slow_card;
#[cfg(test)]
mod sound;
#[cfg(test)]
mod sound_boards;
#[cfg(test)]
mod start;
#[cfg(test)]
mod supervisor;
