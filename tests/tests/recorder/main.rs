//! The real recorder on real parts: it records every sample, survives being killed, and
//! handles parts that go away and come back.

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
