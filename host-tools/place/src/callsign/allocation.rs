//! To whom a prefix is allocated: RR Appendix 42, the ITU's table of call sign series.
//!
//! How many characters show the nationality: one for the letters B, F, G, I, K, M, N, R and
//! W; two for most; three where two administrations share the first two (RR No. 19.50.1;
//! from memory). The table itself is `data/allocations.tsv`.

use std::sync::LazyLock;

use jumpseat_core::call_sign::is_single_letter_prefix;

/// Number of different characters in a call sign.
const CALL_CHARACTERS: usize = 36;
/// No administration.
const NOBODY: u16 = 0;
/// More than one administration.
const SHARED: u16 = u16::MAX;

/// To whom a prefix is allocated. Names are those of the ITU: "Germany (Federal Republic of)".
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PrefixAllocation {
    /// To nobody.
    None,
    /// To one administration.
    One(&'static str),
    /// To one of these: the third character would decide, but is a digit or missing.
    Several(Vec<&'static str>),
}

/// A run of series allocated to one administration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CallSignSeries {
    /// First three characters of the first series: "DAA".
    pub first: &'static str,
    /// First three characters of the last series: "DRZ".
    pub last: &'static str,
    /// The administration's name as the ITU writes it.
    pub administration: &'static str,
}

struct AllocationTable {
    series: Vec<CallSignSeries>,
    names: Vec<&'static str>,
    /// By one, two or three characters: a name's place in `names` plus one, or `SHARED`.
    one: [u16; CALL_CHARACTERS],
    two: Box<[u16]>,
    three: Box<[u16]>,
}

static TABLE: LazyLock<AllocationTable> =
    LazyLock::new(|| AllocationTable::read(include_str!("../../data/allocations.tsv")));

/// The allocation of a prefix or of a whole call sign. Only the first three characters
/// count; capital letters are expected.
pub fn allocation(prefix: &str) -> PrefixAllocation {
    let table = &*TABLE;
    match table.find(prefix.as_bytes()) {
        NOBODY => PrefixAllocation::None,
        SHARED => {
            let (Some(first), Some(second)) =
                (digit(prefix.as_bytes(), 0), digit(prefix.as_bytes(), 1))
            else {
                return PrefixAllocation::None;
            };
            let mut names: Vec<_> = table
                .third_characters(first * CALL_CHARACTERS + second)
                .filter(|found| *found != NOBODY)
                .map(|found| table.names[found as usize - 1])
                .collect();
            names.dedup();
            PrefixAllocation::Several(names)
        }
        found => PrefixAllocation::One(table.names[found as usize - 1]),
    }
}

/// Whether a call sign that begins with these capital letters and digits falls into an
/// allocated series. For inner loops: a table look-up, nothing allocated.
pub fn is_allocated(prefix: &[u8]) -> bool {
    TABLE.find(prefix) != NOBODY
}

/// Whether some allocated series begins with these characters, of which at most three
/// count: "Q" does not, "3" and "3D" do. Lets a search give up early.
pub fn can_begin(start: &[u8]) -> bool {
    let Some(first) = digit(start, 0) else {
        return start.is_empty();
    };
    if start.len() == 1 {
        return TABLE.one[first] != NOBODY;
    }
    TABLE.find(start) != NOBODY
}

/// All series, in the ITU's order, neighbours of one administration joined.
pub fn series() -> &'static [CallSignSeries] {
    &TABLE.series
}

/// Number of the character at `index`: letters 0 to 25, digits 26 to 35.
fn digit(text: &[u8], index: usize) -> Option<usize> {
    match *text.get(index)? {
        letter @ b'A'..=b'Z' => Some(usize::from(letter - b'A')),
        number @ b'0'..=b'9' => Some(usize::from(number - b'0') + 26),
        _ => None,
    }
}

impl AllocationTable {
    fn read(text: &'static str) -> Self {
        let mut table = Self {
            series: Vec::new(),
            names: Vec::new(),
            one: [NOBODY; CALL_CHARACTERS],
            two: vec![NOBODY; CALL_CHARACTERS * CALL_CHARACTERS].into(),
            three: vec![NOBODY; CALL_CHARACTERS * CALL_CHARACTERS * CALL_CHARACTERS].into(),
        };
        for line in text.lines() {
            let mut fields = line.split('\t');
            if let (Some(first), Some(last), Some(administration)) =
                (fields.next(), fields.next(), fields.next())
            {
                table.add(CallSignSeries {
                    first,
                    last,
                    administration,
                });
            }
        }
        table
    }

    fn add(&mut self, series: CallSignSeries) {
        let place = |text: &str| {
            let text = text.as_bytes();
            Some(
                (digit(text, 0)? * CALL_CHARACTERS + digit(text, 1)?) * CALL_CHARACTERS
                    + digit(text, 2)?,
            )
        };
        let (Some(first), Some(last)) = (place(series.first), place(series.last)) else {
            return;
        };
        let name = match self
            .names
            .iter()
            .position(|name| *name == series.administration)
        {
            Some(index) => index as u16 + 1,
            None => {
                self.names.push(series.administration);
                self.names.len() as u16
            }
        };
        self.series.push(series);
        for at in first..=last {
            // a series ends in a letter; a run over several seconds passes the digits by
            if at % CALL_CHARACTERS < 26 {
                self.three[at] = name;
                merge(&mut self.two[at / CALL_CHARACTERS], name);
                merge(&mut self.one[at / CALL_CHARACTERS / CALL_CHARACTERS], name);
            }
        }
    }

    fn third_characters(&self, two: usize) -> impl Iterator<Item = u16> {
        self.three[two * CALL_CHARACTERS..(two + 1) * CALL_CHARACTERS]
            .iter()
            .copied()
    }

    fn find(&self, text: &[u8]) -> u16 {
        let Some(first) = digit(text, 0) else {
            return NOBODY;
        };
        if is_single_letter_prefix(text[0]) {
            return self.one[first];
        }
        let Some(second) = digit(text, 1) else {
            return NOBODY;
        };
        let two = first * CALL_CHARACTERS + second;
        match (self.two[two], digit(text, 2)) {
            (SHARED, Some(third)) if third < 26 => self.three[two * CALL_CHARACTERS + third],
            (found, _) => found,
        }
    }
}

/// Notes one more administration under a shorter beginning.
fn merge(slot: &mut u16, name: u16) {
    *slot = if *slot == NOBODY || *slot == name {
        name
    } else {
        SHARED
    };
}
