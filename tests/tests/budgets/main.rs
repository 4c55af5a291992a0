//! What the recorder takes: memory, processor, journal, with a peer in the same run.

#[cfg(test)]
mod allocator;
#[cfg(test)]
mod counting_storage;
#[cfg(test)]
mod day;
#[cfg(test)]
mod peer;
#[cfg(test)]
mod sound_callback;
