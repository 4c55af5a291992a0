//! The packaged recorder on a whole machine: kernel, pins, sound card and card of
//! its own, in an emulator whose power is cut (see `tests/virtual-board`).

#[cfg(test)]
mod card;
#[cfg(test)]
mod cuts;
#[cfg(test)]
mod machine;
#[cfg(test)]
mod supervised;
