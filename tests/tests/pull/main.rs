//! Pulling from a real OpenSSH server: cut links, receipts that the board believes, rates.

#[cfg(test)]
mod card;
#[cfg(test)]
mod cuts;
#[cfg(test)]
mod proxy;
#[cfg(test)]
mod rates;
#[cfg(test)]
mod receipt;
#[cfg(test)]
mod server;
