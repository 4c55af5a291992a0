//! What the sound device's callback may not do.

#[cfg(test)]
mod allocations;
