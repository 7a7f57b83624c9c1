//! Addresses: what a link or an image points at.
//!
//! What may be linked to is a closed list. Everything else is refused with the
//! reason, so that a page never carries an address that nobody thought about.
//! Schemes, percent-encoding and fragments follow RFC 3986.

use super::Refusal;

/// What a link or an image points at. Names and paths are decoded; whether
/// they exist is for the notebook to say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Address {
    /// `figure:charge_slow`: a figure, or a working's result by dotted name.
    Figure(String),
    /// `board:cell_charger`: a board.
    Board(String),
    /// `part:R1`, `part:res_5k1`: a designator or a stocked part.
    Part(String),
    /// `working:charging`: a worked calculation.
    Working(String),
    /// `circuit:emulator`: a small network.
    Circuit(String),
    /// `pins:cell_charger`: a pin drawing.
    Pins(String),
    /// `log:2026-03-12-first-samples`: an entry of the design log.
    Log(String),
    /// A file by its path, relative to the sheet's own folder. It may still
    /// climb out of the notebook by `..`.
    Path {
        /// The path, with `/` between its parts.
        path: String,
        /// What follows the `#`.
        fragment: Option<String>,
    },
    /// `#supply`: a heading of the same sheet.
    Fragment(String),
    /// An address outside the notebook, as written: http, https or mailto.
    Outside(String),
    /// Not linked to.
    Refused {
        /// As written.
        written: String,
        /// Why not.
        why: Refusal,
    },
}

impl Address {
    /// Reads the address of a link or, where `image` is set, of an image.
    pub(super) fn parse(written: &str, image: bool) -> Address {
        let address = read(written).and_then(|address| match address {
            Address::Outside(_) if image => Err(Refusal::OutsideImage),
            Address::Figure(_)
            | Address::Board(_)
            | Address::Part(_)
            | Address::Log(_)
            | Address::Fragment(_)
                if image =>
            {
                Err(Refusal::NoPicture)
            }
            _ => Ok(address),
        });
        address.unwrap_or_else(|why| Address::Refused {
            written: written.to_owned(),
            why,
        })
    }

    /// Whether the address is in one of the notebook's own schemes.
    pub fn is_own(&self) -> bool {
        !matches!(
            self,
            Address::Path { .. }
                | Address::Fragment(_)
                | Address::Outside(_)
                | Address::Refused { .. }
        )
    }
}

fn read(written: &str) -> Result<Address, Refusal> {
    if written.is_empty() {
        return Err(Refusal::Empty);
    }
    // Browsers drop tabs, line ends and outer spaces from an address, so that
    // what is shown and what is followed would differ.
    if written.chars().any(char::is_control) || written.trim() != written {
        return Err(Refusal::Invisible);
    }
    let Some((scheme, rest)) = split_scheme(written) else {
        return read_relative(written);
    };
    let scheme = scheme.to_ascii_lowercase();
    let own: fn(String) -> Address = match scheme.as_str() {
        "figure" => Address::Figure,
        "board" => Address::Board,
        "part" => Address::Part,
        "working" => Address::Working,
        "circuit" => Address::Circuit,
        "pins" => Address::Pins,
        "log" => Address::Log,
        "http" | "https" => {
            let host = rest.strip_prefix("//").unwrap_or("");
            if host.is_empty() || host.starts_with(['/', '?', '#', ':']) {
                return Err(Refusal::Nameless(scheme));
            }
            if rest.contains('\\') {
                return Err(Refusal::Backslash);
            }
            return Ok(Address::Outside(written.to_owned()));
        }
        "mailto" if rest.is_empty() => return Err(Refusal::Nameless(scheme)),
        "mailto" => return Ok(Address::Outside(written.to_owned())),
        _ => return Err(Refusal::Scheme(scheme)),
    };
    let name = decode(rest)?;
    if name.is_empty() {
        return Err(Refusal::Nameless(scheme));
    }
    if name.chars().any(char::is_control) {
        return Err(Refusal::Invisible);
    }
    Ok(own(name))
}

fn read_relative(written: &str) -> Result<Address, Refusal> {
    if written.starts_with('/') {
        return Err(Refusal::Absolute);
    }
    if written.contains('\\') {
        return Err(Refusal::Backslash);
    }
    let (path, fragment) = match written.split_once('#') {
        Some((path, fragment)) => (path, Some(decode(fragment)?)),
        None => (written, None),
    };
    if path.contains('?') {
        return Err(Refusal::Query);
    }
    if fragment
        .as_ref()
        .is_some_and(|id| id.chars().any(char::is_control))
    {
        return Err(Refusal::Invisible);
    }
    match fragment {
        Some(id) if path.is_empty() && id.is_empty() => Err(Refusal::Empty),
        Some(id) if path.is_empty() => Ok(Address::Fragment(id)),
        fragment => Ok(Address::Path {
            path: decode_path(path)?,
            fragment: fragment.filter(|id| !id.is_empty()),
        }),
    }
}

/// Decodes a path, and refuses one that would read as something else then:
/// `%2Fetc`, `java%3Ax`, `a%5Cb`.
fn decode_path(written: &str) -> Result<String, Refusal> {
    let path = decode(written)?;
    let slashes = |text: &str| text.bytes().filter(|b| *b == b'/').count();
    let disguised = path.contains('\\')
        || path.chars().any(char::is_control)
        || split_scheme(&path).is_some()
        || slashes(&path) != slashes(written);
    if disguised {
        return Err(Refusal::Disguise);
    }
    Ok(path)
}

/// Splits `scheme:rest` (RFC 3986, 3.1).
pub(super) fn split_scheme(text: &str) -> Option<(&str, &str)> {
    let may_be_in = |c: char| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.');
    let (scheme, rest) = text.split_at(text.find(|c| !may_be_in(c))?);
    let rest = rest.strip_prefix(':')?;
    scheme
        .starts_with(|c: char| c.is_ascii_alphabetic())
        .then_some((scheme, rest))
}

/// Whether text begins with one of the notebook's own schemes.
pub(super) fn starts_with_own_scheme(text: &str) -> bool {
    const SCHEMES: [&str; 7] = [
        "figure", "board", "part", "working", "circuit", "pins", "log",
    ];
    split_scheme(text).is_some_and(|(scheme, _)| SCHEMES.contains(&scheme))
}

/// Replaces `%XX` by the byte it stands for.
fn decode(text: &str) -> Result<String, Refusal> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte != b'%' {
            bytes.push(byte);
            continue;
        }
        let mut digit = || {
            rest.next()
                .and_then(|byte| char::from(byte).to_digit(16))
                .ok_or(Refusal::Percent)
        };
        // Two hexadecimal digits make a number below 256.
        bytes.push((digit()? * 16 + digit()?) as u8);
    }
    String::from_utf8(bytes).map_err(|_| Refusal::Percent)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link(written: &str) -> Address {
        Address::parse(written, false)
    }

    fn path(path: &str, fragment: Option<&str>) -> Address {
        Address::Path {
            path: path.into(),
            fragment: fragment.map(str::to_owned),
        }
    }

    fn why(address: Address) -> Option<Refusal> {
        match address {
            Address::Refused { why, .. } => Some(why),
            _ => None,
        }
    }

    #[test]
    fn each_scheme_names_a_record() {
        assert_eq!(
            link("figure:charge_slow"),
            Address::Figure("charge_slow".into())
        );
        assert_eq!(
            link("board:cell_charger"),
            Address::Board("cell_charger".into())
        );
        assert_eq!(link("part:R1"), Address::Part("R1".into()));
        assert_eq!(
            link("working:charging"),
            Address::Working("charging".into())
        );
        assert_eq!(
            link("circuit:emulator"),
            Address::Circuit("emulator".into())
        );
        assert_eq!(
            link("pins:cell_charger"),
            Address::Pins("cell_charger".into())
        );
        assert_eq!(
            link("log:2026-03-12-first-samples"),
            Address::Log("2026-03-12-first-samples".into())
        );
        assert_eq!(
            link("figure:charging.on%20off"),
            Address::Figure("charging.on off".into())
        );
        assert_eq!(link("Figure:gain"), Address::Figure("gain".into()));
    }

    #[test]
    fn a_relative_path_is_decoded_and_parted_from_its_fragment() {
        assert_eq!(link("design.md"), path("design.md", None));
        assert_eq!(
            link("../sound_post/front.md#supply"),
            path("../sound_post/front.md", Some("supply"))
        );
        assert_eq!(link("first%20samples.jpg"), path("first samples.jpg", None));
        assert_eq!(link("#supply"), Address::Fragment("supply".into()));
        assert_eq!(link("./a:b.md"), path("./a:b.md", None));
    }

    #[test]
    fn outside_addresses_are_kept_as_written() {
        for written in [
            "https://example.org/a?b=c#d",
            "http://example.org",
            "mailto:team@example.org",
        ] {
            assert_eq!(link(written), Address::Outside(written.into()));
        }
    }

    #[test]
    fn whatever_is_not_on_the_list_is_refused_with_the_reason() {
        let refused = [
            ("", Refusal::Empty),
            ("#", Refusal::Empty),
            ("javascript:alert(1)", Refusal::Scheme("javascript".into())),
            ("JAVASCRIPT:alert(1)", Refusal::Scheme("javascript".into())),
            ("data:text/html,x", Refusal::Scheme("data".into())),
            ("file:///etc/passwd", Refusal::Scheme("file".into())),
            ("C:/parts.pdf", Refusal::Scheme("c".into())),
            ("figures:gain", Refusal::Scheme("figures".into())),
            ("figure:", Refusal::Nameless("figure".into())),
            ("https:", Refusal::Nameless("https".into())),
            ("https:example.org", Refusal::Nameless("https".into())),
            ("/etc/passwd", Refusal::Absolute),
            ("//example.org/a", Refusal::Absolute),
            ("\\\\example.org\\a", Refusal::Backslash),
            ("a.md?b=c", Refusal::Query),
            ("java\tscript:alert(1)", Refusal::Invisible),
            (" javascript:alert(1)", Refusal::Invisible),
            ("figure:a%0Ab", Refusal::Invisible),
            ("a%2.md", Refusal::Percent),
            ("a%ff.md", Refusal::Percent),
            ("%2Fetc/passwd", Refusal::Disguise),
            ("a%2F..%2Fb", Refusal::Disguise),
            ("javascript%3Aalert(1)", Refusal::Disguise),
            ("a%5Cb", Refusal::Disguise),
        ];
        for (written, reason) in refused {
            assert_eq!(why(link(written)), Some(reason), "{written:?}");
        }
    }

    #[test]
    fn a_picture_is_a_file_or_a_drawing_of_the_notebook() {
        let image = |written| Address::parse(written, true);
        assert_eq!(image("photo.jpg"), path("photo.jpg", None));
        assert_eq!(image("pins:carrier"), Address::Pins("carrier".into()));
        assert_eq!(
            why(image("https://example.org/a.png")),
            Some(Refusal::OutsideImage)
        );
        assert_eq!(why(image("figure:gain")), Some(Refusal::NoPicture));
        assert_eq!(
            why(image("data:image/png;base64,AAAA")),
            Some(Refusal::Scheme("data".into()))
        );
    }
}
