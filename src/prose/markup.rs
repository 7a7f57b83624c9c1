//! The tags that this module writes itself, and their escaping.

use super::address::split_scheme;
use super::document::Link;

/// Text for an attribute in double quotes.
pub(super) fn attribute(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            _ => out.push(c),
        }
    }
    out
}

/// An address for an attribute: what RFC 3986 does not allow in one is
/// percent-encoded. A percent sign is taken to be encoding already.
fn address(href: &str) -> String {
    let mut out = String::with_capacity(href.len());
    for byte in href.bytes() {
        match byte {
            b'&' => out.push_str("&amp;"),
            b'\'' => out.push_str("&#39;"),
            _ if byte.is_ascii_alphanumeric() || b"-._~:/?#[]@!$()*+,;=%".contains(&byte) => {
                out.push(char::from(byte));
            }
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

fn title(link: &Link) -> String {
    if link.title.is_empty() {
        String::new()
    } else {
        format!(" title=\"{}\"", attribute(&link.title))
    }
}

/// The start tag of a link. What lies outside is not told where its reader
/// comes from.
pub(super) fn anchor(link: &Link, href: &str) -> String {
    let outside = split_scheme(href).is_some_and(|(scheme, _)| {
        scheme.eq_ignore_ascii_case("http") || scheme.eq_ignore_ascii_case("https")
    });
    let rel = if outside { " rel=\"noreferrer\"" } else { "" };
    format!("<a href=\"{}\"{}{rel}>", address(href), title(link))
}

/// An image.
pub(super) fn image(link: &Link, src: &str, size: Option<(usize, usize)>) -> String {
    let size = size.map_or_else(String::new, |(width, height)| {
        format!(" width=\"{width}\" height=\"{height}\"")
    });
    format!(
        "<img src=\"{}\" alt=\"{}\"{}{size} loading=\"lazy\" />",
        address(src),
        attribute(&link.text),
        title(link)
    )
}

/// Whether an address may stand on a page. The sheet's own addresses have been
/// read against a closed list by then; this keeps a slip in a caller from
/// becoming a hole.
pub(super) fn is_safe(href: &str) -> bool {
    let hidden = href.chars().any(char::is_control) || href.trim() != href;
    if hidden || href.starts_with("//") || href.contains('\\') {
        return false;
    }
    match split_scheme(href) {
        None => true,
        Some((scheme, _)) => ["http", "https", "mailto"]
            .iter()
            .any(|known| known.eq_ignore_ascii_case(scheme)),
    }
}

/// Whether an address may be loaded with a page: it lies in the page's folder.
pub(super) fn is_inside(src: &str) -> bool {
    is_safe(src) && split_scheme(src).is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_encoded_once_and_cannot_leave_their_quotes() {
        assert_eq!(address("a b%20c\"'<é>"), "a%20b%20c%22&#39;%3C%C3%A9%3E");
        assert_eq!(address("x?a=1&b=2#c"), "x?a=1&amp;b=2#c");
        assert_eq!(attribute("\"<&>\""), "&quot;&lt;&amp;&gt;&quot;");
    }

    #[test]
    fn only_plain_addresses_may_stand_on_a_page() {
        for safe in [
            "a.html",
            "../b/c.html#d",
            "#d",
            "https://example.org",
            "mailto:a@b.c",
            "",
        ] {
            assert!(is_safe(safe), "{safe}");
        }
        for unsafe_one in [
            "javascript:x",
            "JavaScript:x",
            " javascript:x",
            "java\nscript:x",
            "data:x",
            "//a.b",
            "\\\\a",
        ] {
            assert!(!is_safe(unsafe_one), "{unsafe_one}");
        }
        assert!(is_inside("a.png"));
        assert!(!is_inside("https://example.org/a.png"));
    }
}
