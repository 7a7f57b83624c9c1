//! What a drawing is called, and text made fit for markup.

/// What a drawing is called and shows, for those who do not see it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Caption {
    /// Prefix of every id in the drawing; unique on the page it goes to.
    pub id: String,
    /// Short name, such as "Circuit emulator".
    pub title: String,
    /// What it shows, in a sentence or two.
    pub description: String,
}

impl Caption {
    /// The attributes that name the drawing, and the elements they point to.
    pub(super) fn markup(&self) -> (String, String) {
        let id = escaped(&self.id);
        (
            format!("aria-labelledby=\"{id}-title {id}-desc\""),
            format!(
                "<title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>",
                escaped(&self.title),
                escaped(&self.description)
            ),
        )
    }
}

/// Text for an element or for an attribute in double quotes. Characters that
/// XML cannot hold are left out.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c < ' ' => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_fit_for_markup() {
        assert_eq!(escaped("a<b & \"c\"\u{1}\n"), "a&lt;b &amp; &quot;c&quot; ");
    }
}
