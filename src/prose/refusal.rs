//! Why an address is refused, and what to write instead.

use std::fmt;

/// Why an address is refused.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Refusal {
    /// There is nothing to link to.
    Empty,
    /// A scheme that sheets do not link to, `javascript` and `data` among them.
    Scheme(String),
    /// A scheme without the name or host that it needs.
    Nameless(String),
    /// An absolute path, or a host without a scheme.
    Absolute,
    /// A backslash, which browsers read as a slash.
    Backslash,
    /// A query, which no file answers.
    Query,
    /// A control character, or a space at the start or the end.
    Invisible,
    /// A percent sign that two hexadecimal digits do not follow, or bytes that
    /// are not UTF-8.
    Percent,
    /// Encoded letters that would turn into another address once decoded.
    Disguise,
    /// A picture outside the notebook: pages make no request beyond their own
    /// folder.
    OutsideImage,
    /// Something that is no picture, written as one.
    NoPicture,
}

/// The schemes of the notebook's own, for help texts.
const OWN: &str = "`figure:`, `board:`, `part:`, `working:`, `circuit:`, `pins:`, `log:`";

impl Refusal {
    /// What to write instead.
    pub(super) fn help(&self) -> String {
        match self {
            Refusal::Empty => {
                "write the address between the parentheses, or drop the link and keep its text"
                    .into()
            }
            Refusal::Scheme(scheme) if scheme.chars().count() == 1 => {
                "link to a file inside the notebook by its path relative to this sheet".into()
            }
            Refusal::Scheme(_) => {
                format!("write one of {OWN}, a relative path, `http:`, `https:` or `mailto:`")
            }
            Refusal::Nameless(scheme) if scheme.starts_with("http") => {
                format!("write `{scheme}://` and the host")
            }
            Refusal::Nameless(scheme) => format!("write what it names after `{scheme}:`"),
            Refusal::Absolute => "write the path relative to this sheet's own folder".into(),
            Refusal::Backslash => "write `/` between the parts of a path on every system".into(),
            Refusal::Query => {
                "drop what follows the `?`, or write `%3F` where it is part of a file's name".into()
            }
            Refusal::Invisible => "type the address again without the invisible character".into(),
            Refusal::Percent => "write `%25` for a percent sign".into(),
            Refusal::Disguise => "write the path with plain `/`, and no colon in a name".into(),
            Refusal::OutsideImage => {
                "put the picture into the notebook, or link to it without the `!`".into()
            }
            Refusal::NoPicture => "drop the `!` to make it a link".into(),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::Empty => f.write_str("it is empty"),
            Refusal::Scheme(scheme) => write!(f, "sheets do not link to `{scheme}:`"),
            Refusal::Nameless(scheme) => write!(f, "nothing is named after `{scheme}:`"),
            Refusal::Absolute => f.write_str("it is absolute"),
            Refusal::Backslash => f.write_str("it holds a backslash"),
            Refusal::Query => f.write_str("it holds a query, which no file answers"),
            Refusal::Invisible => f.write_str("it holds an invisible character"),
            Refusal::Percent => f.write_str("its percent-encoding is broken"),
            Refusal::Disguise => f.write_str("it means something else once it is decoded"),
            Refusal::OutsideImage => {
                f.write_str("a page loads no picture from outside the notebook")
            }
            Refusal::NoPicture => f.write_str("what it names is no picture"),
        }
    }
}
