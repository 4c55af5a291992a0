//! The review page in a real browser and over a real socket: the demo drive by keys
//! and by clicks, hostile trips, strangers, several tabs, a server that is killed.

#[cfg(test)]
mod acts;
#[cfg(test)]
mod axe;
#[cfg(test)]
mod crowd;
#[cfg(test)]
mod evening;
#[cfg(test)]
mod focus;
#[cfg(test)]
mod home;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod link;
#[cfg(test)]
mod ranges;
#[cfg(test)]
mod socket;
#[cfg(test)]
mod strangers;
#[cfg(test)]
mod tabs;
