//! Outside checks: what we compute against what others compute from the same input.

#[cfg(test)]
mod adif_both_ways;
#[cfg(test)]
mod adif_spec;
#[cfg(test)]
mod exports;
#[cfg(test)]
mod levels;
#[cfg(test)]
mod locators;
#[cfg(test)]
mod logbook;
#[cfg(test)]
mod recordings;
#[cfg(test)]
mod reference;
#[cfg(test)]
mod resampled;
#[cfg(test)]
mod sentences;
#[cfg(test)]
mod simulator;
