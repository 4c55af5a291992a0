//! Trip folders, good and bad, as a person's card may hold them.

#[cfg(test)]
mod damage;
#[cfg(test)]
mod dial;
#[cfg(test)]
mod flac;
#[cfg(test)]
mod folder;
#[cfg(test)]
mod health;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod moved_on;
#[cfg(test)]
#[cfg(target_os = "linux")]
mod not_ordinary;
#[cfg(test)]
mod open;
#[cfg(test)]
mod overs;
#[cfg(test)]
mod segments;
#[cfg(test)]
mod time;
#[cfg(test)]
mod track;
#[cfg(test)]
mod witness;
