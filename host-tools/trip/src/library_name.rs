//! Names of trips in a library.
//!
//! A new or a cloned card starts again with the names of the first one. Where a name is
//! taken, the library appends the power-up of the trip to it.

/// Hex digits that are appended: the power-up, or a digest.
const LIBRARY_KEY_DIGITS: usize = 8;
/// Digits of a number after that.
const LIBRARY_NUMBER_DIGITS: std::ops::RangeInclusive<usize> = 1..=3;

/// The name that the board gave a trip, from that of its folder in a library:
/// "trip-000017-3fa2c1" for itself, for "trip-000017-3fa2c1-9f2c41d0" and for
/// "trip-000017-3fa2c1-9f2c41d0-2". Any other name is given back as it is.
pub fn name_on_board(folder: &str) -> &str {
    let numbered = cut(folder, |last| {
        LIBRARY_NUMBER_DIGITS.contains(&last.len())
            && last.bytes().all(|letter| letter.is_ascii_digit())
    });
    let keyed = |name| cut(name, is_key).filter(|name| is_on_board(name));
    numbered
        .and_then(keyed)
        .or_else(|| keyed(folder))
        .unwrap_or(folder)
}

/// The name without its last part, if that fits.
fn cut(name: &str, fits: impl Fn(&str) -> bool) -> Option<&str> {
    let (before, last) = name.rsplit_once('-')?;
    fits(last).then_some(before)
}

fn is_key(text: &str) -> bool {
    let digit = |letter: u8| matches!(letter, b'0'..=b'9' | b'a'..=b'f');
    text.len() == LIBRARY_KEY_DIGITS && text.bytes().all(digit)
}

/// Whether number and board are in it.
fn is_on_board(name: &str) -> bool {
    let rest = name.strip_prefix("trip-");
    rest.and_then(|rest| rest.split_once('-'))
        .is_some_and(|(number, board)| !number.is_empty() && !board.is_empty())
}

#[cfg(test)]
mod tests {
    use super::name_on_board;

    #[test]
    fn what_a_library_puts_behind_is_no_part_of_the_name() {
        let plain = "trip-000017-3fa2c1";
        for behind in ["", "-9f2c41d0", "-9f2c41d0-2"] {
            assert_eq!(name_on_board(&format!("{plain}{behind}")), plain);
        }
        for other in ["-2", "-tuesday", "-9F2C41D0", "-9f2c41d", "-9f2c41d0-x"] {
            let name = format!("{plain}{other}");
            assert_eq!(name_on_board(&name), name);
        }
        for name in ["trip-000017-12345678", "trip-12345678", "Tuesday", ""] {
            assert_eq!(name_on_board(name), name);
        }
    }
}
