//! The packaged recorder on a whole machine with its own kernel, pins, sound card and card,
//! in an emulator whose power is cut (see `tests/virtual-board`).

#[cfg(test)]
mod card;
#[cfg(test)]
mod cuts;
#[cfg(test)]
mod machine;
#[cfg(test)]
mod supervised;
