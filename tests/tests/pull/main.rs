//! Pulling from a real OpenSSH server: the evening in one go, cut links, receipts that the board believes, rates.

#[cfg(test)]
mod arrive;
#[cfg(test)]
mod card;
#[cfg(test)]
mod cuts;
#[cfg(test)]
mod goes_wrong;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod keys;
#[cfg(test)]
mod manifest;
#[cfg(test)]
mod nearby;
#[cfg(test)]
mod parked;
#[cfg(test)]
mod proxy;
#[cfg(test)]
mod rates;
#[cfg(test)]
mod receipt;
#[cfg(test)]
mod server;
