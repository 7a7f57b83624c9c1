//! What becomes of Markdown in HTML.

use super::*;
use crate::finding::Sources;
use crate::prose::read;

fn document(text: &str) -> Document {
    let file = Sources::default().add("front.md", text.to_owned());
    read(file, text).0
}

fn kept(link: &Link) -> Replacement {
    match &link.kind {
        Address::Outside(href) => Replacement::Keep { href: href.clone() },
        Address::Path { path, .. } => Replacement::Keep { href: path.clone() },
        Address::Fragment(id) => Replacement::Keep {
            href: format!("#{id}"),
        },
        Address::Figure(name) => Replacement::Html(format!("<data value=\"{name}\">196 mA</data>")),
        Address::Working(name) => Replacement::Html(format!("<figure id=\"{name}\"></figure>")),
        _ => Replacement::Text,
    }
}

fn html(text: &str) -> String {
    render(&document(text), &Options::default(), &mut kept)
}

fn without_title(text: &str) -> String {
    let options = Options {
        without_title: true,
        without_comments: false,
        prefix: "s1-".into(),
    };
    render(&document(text), &options, &mut kept)
}

#[test]
fn each_link_becomes_what_the_caller_says() {
    assert_eq!(
        html("It draws [200 *mA*](figure:slow), see [there](b.md \"T\") and [R1](part:R1)."),
        "<p>It draws <data value=\"slow\">196 mA</data>, see \
         <a href=\"b.md\" title=\"T\">there</a> and R1.</p>\n"
    );
}

#[test]
fn outside_links_send_no_referrer() {
    assert_eq!(
        html("<https://example.org/a?b&c>, <team@example.org>"),
        "<p><a href=\"https://example.org/a?b&amp;c\" rel=\"noreferrer\">\
         https://example.org/a?b&amp;c</a>, \
         <a href=\"mailto:team@example.org\">team@example.org</a></p>\n"
    );
}

#[test]
fn a_refused_address_leaves_only_its_text() {
    let mut asked = 0;
    let document = document("[a](javascript:x) ![b](https://example.org/b.png) [c](/d)");
    let html = render(&document, &Options::default(), &mut |_| {
        asked += 1;
        Replacement::Text
    });
    assert_eq!(html, "<p>a b c</p>\n");
    assert_eq!(asked, 0);
}

#[test]
fn a_careless_caller_opens_no_hole() {
    let html = render(
        &document("[a](b.md)![c](d.png)"),
        &Options::default(),
        &mut |link| {
            let href = if link.image {
                "https://example.org/x.png"
            } else {
                "javascript:x"
            };
            Replacement::Keep { href: href.into() }
        },
    );
    assert_eq!(html, "<p>ac</p>\n");
}

#[test]
fn images_keep_their_text_for_those_who_cannot_see_them() {
    assert_eq!(
        html("![A *red* \"board\" [b](c.md)](board.jpg)"),
        "<p><img src=\"board.jpg\" alt=\"A red &quot;board&quot; b\" loading=\"lazy\" /></p>\n"
    );
}

#[test]
fn a_block_in_place_of_an_image_stands_outside_the_paragraph() {
    assert_eq!(
        html("![Currents](working:charging)"),
        "<figure id=\"charging\"></figure>\n"
    );
    assert_eq!(
        html("See ![Currents](working:charging)\nabove."),
        "<p>See </p>\n<figure id=\"charging\"></figure>\n<p>\nabove.</p>\n"
    );
    assert_eq!(
        html("- ![Currents](working:charging)"),
        "<ul>\n<li><figure id=\"charging\"></figure></li>\n</ul>\n"
    );
}

#[test]
fn html_comes_out_as_text() {
    assert_eq!(
        html("a <b onclick=\"x\">c</b>"),
        "<p>a &lt;b onclick=\"x\"&gt;c&lt;/b&gt;</p>\n"
    );
    assert_eq!(
        html("<script>\nalert(1)\n</script>"),
        "<pre><code>&lt;script&gt;\nalert(1)\n&lt;/script&gt;</code></pre>\n"
    );
    assert_eq!(
        html("<!-- a -->"),
        "<pre><code>&lt;!-- a --&gt;</code></pre>\n"
    );
}

#[test]
fn headings_carry_ids() {
    assert_eq!(
        html("# A *B*\n\n## Pins\n\n## Pins"),
        "<h1 id=\"a-b\">A <em>B</em></h1>\n<h2 id=\"pins\">Pins</h2>\n<h2 id=\"pins-2\">Pins</h2>\n"
    );
}

#[test]
fn without_its_title_a_sheet_begins_at_the_second_level() {
    assert_eq!(
        without_title("# Title\n\n# A\n\n## B\n\n###### C"),
        "<h2 id=\"s1-a\">A</h2>\n<h3 id=\"s1-b\">B</h3>\n<h6 id=\"s1-c\">C</h6>\n"
    );
    assert_eq!(
        without_title("# Title\n\n### A"),
        "<h2 id=\"s1-a\">A</h2>\n"
    );
}

#[test]
fn tables_scroll_and_are_aligned_by_class() {
    assert_eq!(
        html("# Supply\n\n| a | b | c |\n|---|:-:|--:|\n| 1 | 2 | [3](figure:x) |"),
        "<h1 id=\"supply\">Supply</h1>\n\
         <div class=\"table\" tabindex=\"0\" role=\"region\" aria-label=\"Table 1: Supply\"><table>\
         <thead><tr><th scope=\"col\">a</th><th scope=\"col\" class=\"center\">b</th>\
         <th scope=\"col\" class=\"right\">c</th></tr></thead><tbody>\n\
         <tr><td>1</td><td class=\"center\">2</td>\
         <td class=\"right\"><data value=\"x\">196 mA</data></td></tr>\n\
         </tbody></table>\n</div>\n"
    );
}

#[test]
fn footnotes_come_last_and_carry_the_prefix() {
    assert_eq!(
        without_title("A[^b] and[^a] again[^b].\n\n[^a]: First.\n\n[^b]: Second.\n\nEnd."),
        "<p>A<sup class=\"footnote-reference\" id=\"s1-reference_1\">\
         <a href=\"#s1-footnote_1\">1</a></sup> and\
         <sup class=\"footnote-reference\" id=\"s1-reference_2\">\
         <a href=\"#s1-footnote_2\">2</a></sup> again\
         <sup class=\"footnote-reference\"><a href=\"#s1-footnote_1\">1</a></sup>.</p>\n\
         <p>End.</p>\n\
         <section class=\"footnotes\" role=\"doc-endnotes\" aria-label=\"Footnotes\">\n<ol>\n\
         <li id=\"s1-footnote_1\" value=\"1\">\n<p>Second.</p>\n\
         <a href=\"#s1-reference_1\" role=\"doc-backlink\" aria-label=\"Back to reference 1\">↩</a></li>\n\
         <li id=\"s1-footnote_2\" value=\"2\">\n<p>First.</p>\n\
         <a href=\"#s1-reference_2\" role=\"doc-backlink\" aria-label=\"Back to reference 2\">↩</a></li>\n\
         </ol>\n</section>\n"
    );
}
