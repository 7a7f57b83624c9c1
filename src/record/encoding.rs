//! Bytes as spreadsheet programs write them, as text.
//!
//! UTF-8 and UTF-16 of both byte orders are read, with a byte order mark or
//! without one. Nothing else is guessed at: a byte that means another letter in
//! each of a dozen code pages would be read as the wrong one.

/// Bytes that are no text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct NotText {
    /// What can be read, with U+FFFD for what cannot.
    pub text: String,
    /// Where in it the first thing stands that cannot be read.
    pub at: usize,
    /// What the bytes seemed to be.
    pub encoding: &'static str,
}

/// The text of a file, without its byte order mark.
///
/// # Errors
/// [`NotText`] where the bytes are neither UTF-8 nor UTF-16.
pub(crate) fn decoded(bytes: Vec<u8>) -> Result<String, NotText> {
    match bytes.as_slice() {
        [0xff, 0xfe, rest @ ..] => return utf16(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => return utf16(rest, u16::from_be_bytes),
        // A list begins with a letter, a digit or a quotation mark, and in no other
        // encoding is one of these beside a zero.
        [first, 0, ..] if *first != 0 => return utf16(&bytes, u16::from_le_bytes),
        [0, second, ..] if *second != 0 => return utf16(&bytes, u16::from_be_bytes),
        _ => {}
    }
    utf8(bytes).map_err(|fault| NotText {
        encoding: "UTF-8 or UTF-16",
        ..fault
    })
}

/// The text of a UTF-8 file, without its byte order mark.
///
/// # Errors
/// [`NotText`] where the bytes are no UTF-8.
pub(crate) fn utf8(bytes: Vec<u8>) -> Result<String, NotText> {
    match String::from_utf8(bytes) {
        Ok(text) => Ok(match text.strip_prefix('\u{feff}') {
            Some(bare) => bare.to_owned(),
            None => text,
        }),
        Err(error) => Err(NotText {
            at: error.utf8_error().valid_up_to(),
            text: String::from_utf8_lossy(error.as_bytes()).into_owned(),
            encoding: "UTF-8",
        }),
    }
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, NotText> {
    let (pairs, rest) = bytes.as_chunks::<2>();
    let mut text = String::with_capacity(pairs.len());
    let mut first = None;
    for decoded in char::decode_utf16(pairs.iter().map(|pair| unit(*pair))) {
        match decoded {
            Ok(letter) => text.push(letter),
            Err(_) => {
                first.get_or_insert(text.len());
                text.push(char::REPLACEMENT_CHARACTER);
            }
        }
    }
    if !rest.is_empty() {
        first.get_or_insert(text.len());
        text.push(char::REPLACEMENT_CHARACTER);
    }
    match first {
        None => Ok(text),
        Some(at) => Err(NotText {
            text,
            at,
            encoding: "UTF-16",
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "Value,Ω\r\n4k7 µ\r\n";

    fn units(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn every_encoding_that_spreadsheets_write_is_the_same_text() {
        let marked = format!("\u{feff}{TEXT}");
        for text in [TEXT, &marked] {
            assert_eq!(decoded(text.into()).as_deref(), Ok(TEXT));
            assert_eq!(decoded(units(text, u16::to_le_bytes)).as_deref(), Ok(TEXT));
            assert_eq!(decoded(units(text, u16::to_be_bytes)).as_deref(), Ok(TEXT));
        }
        assert_eq!(decoded(Vec::new()).as_deref(), Ok(""));
    }

    #[test]
    fn what_is_no_text_is_told_with_its_place() {
        // A micro sign of a Western code page.
        let fault = decoded(b"Value\n10 \xb5F".to_vec()).expect_err("no UTF-8");
        assert_eq!((fault.at, &fault.text[..9]), (9, "Value\n10 "));
        let mut cut = units("\u{feff}4k7", u16::to_le_bytes);
        cut.pop();
        let fault = decoded(cut).expect_err("half a unit is left over");
        assert_eq!((fault.at, fault.encoding), (2, "UTF-16"));
        // Half of a surrogate pair.
        let lone = [0xff, 0xfe, 0x34, 0x00, 0x00, 0xd8, 0x37, 0x00];
        assert_eq!(decoded(lone.to_vec()).expect_err("half a letter").at, 1);
    }
}
