//! The card fails at any moment: what the loss budget promises, checked on a card
//! in memory at every operation of a scripted drive.

#[cfg(test)]
mod budget;
#[cfg(test)]
mod cuts;
#[cfg(test)]
mod drive;
#[cfg(test)]
mod errors;
#[cfg(test)]
mod room;
#[cfg(test)]
mod rules;
