//! Zones: the letters in a sheet's frame.
//!
//! ISO 5457 divides the frame into fields, lettered from the top down and
//! numbered from the left. A sheet on a screen has no fixed height, so the
//! letters follow its content here: every section has one, and it is also the
//! address of that section.

/// The letter of a zone, counted from zero: A to Z without I and O, then AA,
/// BB and so on.
pub(crate) fn letter(at: usize) -> String {
    const LETTERS: &[u8; 24] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
    let letter = char::from(LETTERS[at % LETTERS.len()]);
    std::iter::repeat_n(letter, at / LETTERS.len() + 1).collect()
}

/// Gives out zones from the top of a sheet down.
#[derive(Debug, Default)]
pub(crate) struct Zones {
    given: usize,
}

impl Zones {
    /// The next letter.
    pub fn next(&mut self) -> String {
        self.given += 1;
        letter(self.given - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_leave_out_what_reads_as_a_digit() {
        let all: String = (0..24).map(letter).collect();
        assert_eq!(all, "ABCDEFGHJKLMNPQRSTUVWXYZ");
        assert_eq!(letter(24), "AA");
        assert_eq!(letter(49), "BBB");
    }
}
