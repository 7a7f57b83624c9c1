//! Pin views: the contacts of a connector as somebody sees them who looks down
//! on the board, each with its name and its use.
//!
//! A use is told by its words and by the class that colours it, never by colour
//! alone.

use std::fmt::Write;

use super::caption::{Caption, escaped};

/// A connector with its contacts.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct PinDrawing {
    /// Rows of contacts, each from contact 1 of its row on.
    pub rows: Vec<Vec<PinLabel>>,
}

/// A contact.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct PinLabel {
    /// Its number, as counted.
    pub number: String,
    /// Its name.
    pub name: String,
    /// Its use in words; nothing for one that is not used.
    pub used: String,
    /// Class that colours it: `ground`, `supply`, `driven`, `read`, `analog`,
    /// `pulse`, `bus`, `serial`, `free`.
    pub class: &'static str,
}

/// Height of a contact's stripe.
const PITCH: usize = 50;
/// Width of the words beside a contact.
const WORDS: usize = 156;
/// Width of a contact.
const PAD: usize = 28;
/// Room around everything.
const MARGIN: usize = 4;
/// Most letters in a line of words.
const LETTERS: usize = 24;

/// Draws a connector; two rows side by side, further ones below.
pub fn pin_view(drawing: &PinDrawing, caption: &Caption) -> String {
    let pairs: Vec<&[Vec<PinLabel>]> = drawing.rows.chunks(2).collect();
    let tall = |pair: &[Vec<PinLabel>]| pair.iter().map(Vec::len).max().unwrap_or(0) * PITCH;
    let both = pairs.iter().any(|pair| pair.len() > 1);
    let columns = if both { 2 } else { 1 };
    let width = columns * (WORDS + PAD) + 2 * MARGIN;
    let gap = 18;
    let height = pairs.iter().map(|pair| tall(pair) + gap).sum::<usize>() + 2 * MARGIN;
    let height = height.saturating_sub(gap);
    let (names, title) = caption.markup();
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"pins\" role=\"img\" {names} \
         viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" fill=\"none\" \
         stroke=\"currentColor\" font-size=\"13\">{title}"
    );
    let mut top = MARGIN;
    for pair in pairs {
        // Writing to a string does not fail.
        let left = if both { MARGIN + WORDS } else { MARGIN };
        let body = if both { 2 * PAD } else { PAD };
        let _ = write!(
            out,
            "<rect class=\"body\" x=\"{left}\" y=\"{top}\" width=\"{body}\" height=\"{}\" rx=\"3\"/>",
            tall(pair)
        );
        for (side, row) in pair.iter().enumerate() {
            for (at, pin) in row.iter().enumerate() {
                let is_left = both && side == 0;
                contact(
                    pin,
                    (left + side * PAD, top + at * PITCH),
                    is_left,
                    &mut out,
                );
            }
        }
        top += tall(pair) + gap;
    }
    out.push_str("</svg>");
    out
}

fn contact(pin: &PinLabel, (x, y): (usize, usize), is_left: bool, out: &mut String) {
    let middle = (x + PAD / 2, y + PITCH / 2);
    let (stripe, text, anchor) = if is_left {
        (x - WORDS, x - 10, "end")
    } else {
        (x + PAD, x + PAD + 10, "start")
    };
    let class = pin.class;
    let _ = write!(
        out,
        "<g class=\"pin {class}\"><rect class=\"stripe\" x=\"{stripe}\" y=\"{}\" width=\"{WORDS}\" height=\"{}\"/>",
        y + 2,
        PITCH - 4
    );
    // Contact 1 of a connector is square, as on its land pattern.
    if pin.number == "1" {
        let _ = write!(
            out,
            "<rect class=\"pad\" x=\"{}\" y=\"{}\" width=\"22\" height=\"22\"/>",
            middle.0 - 11,
            middle.1 - 11
        );
    } else {
        let _ = write!(
            out,
            "<circle class=\"pad\" cx=\"{}\" cy=\"{}\" r=\"11\"/>",
            middle.0, middle.1
        );
    }
    let _ = write!(
        out,
        "<text class=\"number\" x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
        middle.0,
        middle.1 + 4,
        escaped(&pin.number)
    );
    let lines = lines(&pin.used);
    let first = middle.1 + 5 - 13 * lines.len() / 2;
    let _ = write!(
        out,
        "<text class=\"name\" x=\"{text}\" y=\"{first}\" text-anchor=\"{anchor}\">{}</text>",
        escaped(&pin.name)
    );
    for (at, line) in lines.iter().enumerate() {
        let _ = write!(
            out,
            "<text class=\"use\" x=\"{text}\" y=\"{}\" text-anchor=\"{anchor}\">{}</text>",
            first + 14 + 13 * at,
            escaped(line)
        );
    }
    out.push_str("</g>");
}

/// Words in at most two lines; what does not fit ends in an ellipsis.
fn lines(words: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let count = lines.len();
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < LETTERS => {
                line.push(' ');
                line.push_str(word);
            }
            Some(line) if count == 2 => {
                line.push('…');
                break;
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn drawing(rows: usize) -> PinDrawing {
        let pin = |row: usize, at: usize| PinLabel {
            number: (10 * row + at + 1).to_string(),
            name: format!("line <{at}>"),
            used: "output that switches the amplifier of the sound post on and off".into(),
            class: "driven",
        };
        PinDrawing {
            rows: (0..rows)
                .map(|row| (0..10).map(|at| pin(row, at)).collect())
                .collect(),
        }
    }

    #[test]
    fn a_view_is_xml_and_nothing_leaves_it() {
        for rows in 0..5 {
            let caption = Caption {
                id: "Pins".into(),
                title: "Pins".into(),
                description: "Twenty contacts".into(),
            };
            let svg = pin_view(&drawing(rows), &caption);
            let document = roxmltree::Document::parse(&svg).unwrap();
            let root = document.root_element();
            let number = |node: roxmltree::Node<'_, '_>, key: &str| -> f64 {
                node.attribute(key).unwrap().parse().unwrap()
            };
            let (width, height) = (number(root, "width"), number(root, "height"));
            let rects = document
                .descendants()
                .filter(|node| node.has_tag_name("rect"));
            for rect in rects {
                assert!(number(rect, "x") >= 0.0 && number(rect, "y") >= 0.0);
                assert!(number(rect, "x") + number(rect, "width") <= width);
                assert!(number(rect, "y") + number(rect, "height") <= height);
            }
            let texts = document
                .descendants()
                .filter(|node| node.has_tag_name("text"));
            assert_eq!(texts.clone().count(), rows * 10 * 4);
            assert!(
                texts
                    .filter(|text| text.attribute("class") == Some("use"))
                    .all(|text| { text.text().unwrap().chars().count() <= LETTERS + 1 })
            );
        }
    }

    #[test]
    fn words_are_broken_between_words() {
        assert_eq!(lines(""), Vec::<String>::new());
        assert_eq!(lines("output"), ["output"]);
        assert_eq!(
            lines("input, output, pulse, interrupt"),
            ["input, output, pulse,", "interrupt"]
        );
    }
}
