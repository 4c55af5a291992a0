//! Splits a home call into prefix, digits and suffix.
//!
//! RR Nos. 19.68 and 19.69 (from memory): one of the letters B, F, G, I, K, M, N, R, W, or
//! two characters; then a single digit; then a group of at most four characters, the last
//! one a letter. No. 19.68A lets administrations go beyond this on special occasions.

/// Where prefix and digits end, in bytes from the start of the home call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CallSignShape {
    /// Where the prefix ends.
    pub prefix_end: usize,
    /// Where the digits end; equal to `prefix_end` when no digit stands apart from the prefix.
    pub digits_end: usize,
    /// The prefix has none of the regular forms.
    pub odd_prefix: bool,
}

/// Splits a home call of capital letters and digits. `None` when it cannot be a call sign:
/// it has no letter or no digit, has fewer than three characters, or ends with its only
/// digit.
pub fn split_home_call(home: &[u8]) -> Option<CallSignShape> {
    if home.len() < 3 || !home.iter().any(u8::is_ascii_alphabetic) {
        return None;
    }
    regular(home)
        .or_else(|| without_digit(home))
        .or_else(|| odd(home))
}

/// Whether this letter alone is a country's prefix.
pub fn is_single_letter_prefix(letter: u8) -> bool {
    b"BFGIKMNRW".contains(&letter)
}

/// The lengths in bytes that a regular prefix at the start may have, shortest first.
fn prefix_lengths(home: &[u8]) -> impl Iterator<Item = usize> {
    let letter = |index: usize| home.get(index).is_some_and(u8::is_ascii_alphabetic);
    let digit = |index: usize| home.get(index).is_some_and(u8::is_ascii_digit);
    let one = letter(0) && is_single_letter_prefix(home[0]);
    let two = (letter(0) && (letter(1) || digit(1))) || (digit(0) && letter(1));
    // 3DA: half of a series, so the third letter belongs to the prefix
    let three = digit(0) && letter(1) && letter(2);
    [(1, one), (2, two), (3, three)]
        .into_iter()
        .filter_map(|(length, fits)| fits.then_some(length))
}

fn regular(home: &[u8]) -> Option<CallSignShape> {
    prefix_lengths(home).find_map(|prefix_end| {
        let digits = home[prefix_end..]
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count();
        let digits_end = prefix_end + digits;
        // several digits need no suffix ("GB100"); a single digit without one makes a
        // prefix
        let whole = digits_end < home.len() || digits > 1;
        (digits > 0 && whole).then_some(CallSignShape {
            prefix_end,
            digits_end,
            odd_prefix: false,
        })
    })
}

/// Letter, digit, letters, where the letter alone is no prefix: "C6AQR".
fn without_digit(home: &[u8]) -> Option<CallSignShape> {
    let fits =
        home[0].is_ascii_alphabetic() && home[1].is_ascii_digit() && home[2].is_ascii_alphabetic();
    fits.then_some(CallSignShape {
        prefix_end: 2,
        digits_end: 2,
        odd_prefix: false,
    })
}

/// Anything else with letters on both sides of digits.
fn odd(home: &[u8]) -> Option<CallSignShape> {
    let start = home.iter().position(u8::is_ascii_alphabetic)?;
    let prefix_end = start + home[start..].iter().position(u8::is_ascii_digit)?;
    let digits_end = prefix_end
        + home[prefix_end..]
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count();
    (digits_end < home.len()).then_some(CallSignShape {
        prefix_end,
        digits_end,
        odd_prefix: true,
    })
}

/// Whether a part beside a stroke can be a country's prefix: a regular prefix, optionally
/// followed by a digit and by one more letter ("DL", "F", "KH6", "VP2E").
pub fn is_prefix(part: &[u8]) -> bool {
    prefix_lengths(part).any(|length| match &part[length..] {
        [] => true,
        [digit] => digit.is_ascii_digit(),
        [digit, letter] => digit.is_ascii_digit() && letter.is_ascii_alphabetic(),
        _ => false,
    })
}
