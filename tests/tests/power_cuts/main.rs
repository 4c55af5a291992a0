//! The card fails at any moment: the promises of the loss budget, checked on a card in
//! memory at every operation of a scripted drive.

#[cfg(test)]
mod card_space;
#[cfg(test)]
mod cuts;
#[cfg(test)]
mod drive;
#[cfg(test)]
mod errors;
#[cfg(test)]
mod remains;
#[cfg(test)]
mod rules;
