//! How large a picture is, so that a page keeps its place free.

use std::fs;
use std::io::Read;

use camino::Utf8Path;

/// As much of a drawing as is read for its size.
const HEAD: u64 = 4096;

/// Width and height of a picture in pixels; `None` where it does not say.
pub(super) fn size(path: &Utf8Path) -> Option<(usize, usize)> {
    if path.extension() != Some("svg") {
        let size = imagesize::size(path).ok()?;
        return Some((size.width, size.height));
    }
    let mut head = Vec::new();
    let file = fs::File::open(path).ok()?;
    file.take(HEAD).read_to_end(&mut head).ok()?;
    of_drawing(&String::from_utf8_lossy(&head))
}

/// The size of an SVG: its width and height in pixels, or those of its view box.
fn of_drawing(text: &str) -> Option<(usize, usize)> {
    let tag = text.split_once("<svg")?.1.split('>').next()?;
    let attribute = |name: &str| {
        let (_, rest) = tag.split_once(&format!(" {name}="))?;
        let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''))?;
        rest[1..].split(quote).next()
    };
    let whole = |text: &str| {
        let number: f64 = text.trim().trim_end_matches("px").parse().ok()?;
        (0.5..1e6)
            .contains(&number)
            .then(|| number.round() as usize)
    };
    let stated = attribute("width").zip(attribute("height"));
    let stated = stated.and_then(|(width, height)| Some((whole(width)?, whole(height)?)));
    stated.or_else(|| {
        let mut sides = attribute("viewBox")?
            .split([' ', ','])
            .filter(|side| !side.is_empty());
        let (width, height) = (sides.nth(2)?, sides.next()?);
        Some((whole(width)?, whole(height)?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_says_its_size_in_one_of_two_ways() {
        let svg = "<?xml version=\"1.0\"?><svg xmlns=\"x\" width=\"40px\" height='30'>";
        assert_eq!(of_drawing(svg), Some((40, 30)));
        let boxed = "<svg width=\"100%\" height=\"100%\" viewBox=\"0 0 200, 22.4\"/>";
        assert_eq!(of_drawing(boxed), Some((200, 22)));
        assert_eq!(of_drawing("<svg>"), None);
        assert_eq!(of_drawing("no drawing"), None);
    }
}
