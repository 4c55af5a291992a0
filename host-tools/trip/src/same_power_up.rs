//! Finds the other trips of the same power-up.

use std::path::Path;

use crate::Trip;

/// A recorder that starts again and again still ends somewhere.
const MOST_NEIGHBOUR_TRIPS: u64 = 64;

impl Trip {
    /// The trips beside this one, in the same folder, that the same power-up of the
    /// same board made: the recorder was started again. They follow each other in
    /// number. What cannot be opened is passed over; it is no damage to this trip.
    pub fn same_power_up(&self) -> Vec<Self> {
        let header = self.header();
        let beside = match self.dir().parent() {
            Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
            Some(folder) => folder,
            None => return Vec::new(),
        };
        if header.boot.is_empty() || header.board.is_empty() {
            return Vec::new();
        }
        let open = |number: u64| {
            let mut named = header.clone();
            named.trip = number;
            let name = named.name();
            // The library's name for it beside another trip of that name.
            let second = format!("{name}-{}", header.boot);
            [name, second].into_iter().find_map(|name| {
                let other = Self::open(&beside.join(name)).ok()?;
                let theirs = other.header();
                let same = theirs.boot == header.boot && theirs.board == header.board;
                same.then_some(other)
            })
        };
        let before = (1..=MOST_NEIGHBOUR_TRIPS).map_while(|away| header.trip.checked_sub(away));
        let after = (1..=MOST_NEIGHBOUR_TRIPS).map_while(|away| header.trip.checked_add(away));
        before
            .map_while(open)
            .chain(after.map_while(open))
            .collect()
    }
}
