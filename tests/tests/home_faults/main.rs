//! The home tool on a disk that fails at any one of its operations, that stays broken or
//! full from there on, and killed at any of them: the library and the logbook are whole,
//! nothing that was pulled or confirmed is lost, and the same command does it the next
//! time. Needs a C compiler and the kernel's headers (Debian package build-essential).

#[cfg(test)]
mod case;
#[cfg(test)]
mod disk;
#[cfg(test)]
mod folder_state;
#[cfg(test)]
mod kills;
#[cfg(test)]
mod order;
#[cfg(test)]
mod rules;
#[cfg(test)]
mod scenes;
#[cfg(test)]
mod sweep;
#[cfg(test)]
mod trip;
