//! Addresses of a two-wire bus, of seven bits.

use std::fmt;

/// An address that a device can have.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Address(u8);

impl Address {
    /// Reads an address as data sheets write it: `0x48`.
    ///
    /// # Errors
    /// Why it is none, as the end of a sentence.
    pub fn parse(text: &str) -> Result<Address, &'static str> {
        let digits = text.strip_prefix("0x").ok_or("it does not begin with 0x")?;
        let is_hexadecimal = digits.bytes().all(|digit| digit.is_ascii_hexdigit());
        match u8::from_str_radix(digits, 16) {
            Ok(_) if !is_hexadecimal => Err("it is no hexadecimal number"),
            Ok(0x80..) => Err("it has eight bits, so the direction bit may be among them"),
            Ok(value) if is_reserved(value) => Err("it is reserved"),
            Ok(value) => Ok(Address(value)),
            Err(_) => Err("it is no hexadecimal number of seven bits"),
        }
    }
}

/// Whether an address is reserved: 0000 XXX and 1111 XXX (NXP UM10204, 3.1.12,
/// table 3).
fn is_reserved(address: u8) -> bool {
    matches!(address >> 3, 0b0000 | 0b1111)
}

/// The first two boards that use one address, and the address.
pub(super) fn clash<'a>(used: &[(&'a str, Address)]) -> Option<(&'a str, &'a str, Address)> {
    used.iter().enumerate().find_map(|(at, &(board, address))| {
        let before = used[..at].iter().find(|(_, other)| *other == address);
        before.map(|&(first, _)| (first, board, address))
    })
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "0x{:02X}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: NXP UM10204, 3.1.12, table 3: 0x00 to 0x07 and 0x78 to 0x7F are
    /// reserved, and 112 addresses remain.
    #[test]
    fn two_blocks_of_eight_are_reserved() {
        let free = (0..=0x7F).filter(|&address| !is_reserved(address));
        assert_eq!(free.clone().count(), 112);
        assert_eq!(free.clone().min(), Some(0x08));
        assert_eq!(free.max(), Some(0x77));
    }

    #[test]
    fn what_is_no_address_is_told() {
        assert_eq!(Address::parse("0x50"), Ok(Address(0x50)));
        for wrong in ["", "0x", "50", "0x+5", "0x100", "0x1F0000000000", "0xÄ"] {
            assert!(Address::parse(wrong).is_err(), "{wrong}");
        }
    }
}
