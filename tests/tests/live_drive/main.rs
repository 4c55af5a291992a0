//! One drive through every real part, from the sound card to the ADIF file.

#[cfg(test)]
mod adif;
#[cfg(test)]
mod home;
#[cfg(test)]
mod sound;
#[cfg(test)]
mod whole_drive;
