//! The real recorder on real parts. The modules named `with_...` need Debian
//! packages: libasound2 (ALSA), gpsd, libhamlib-utils (rigctld).

#[cfg(test)]
mod board;
#[cfg(test)]
mod pins;
#[cfg(test)]
mod waits_for_nothing;
#[cfg(test)]
mod with_alsa;
#[cfg(test)]
mod with_alsa_killed;
#[cfg(test)]
mod with_gps;
#[cfg(test)]
mod with_ignition;
#[cfg(test)]
mod with_rigctld;
#[cfg(test)]
mod with_supervisor;
#[cfg(test)]
mod wrong_input;
