//! A page taken apart into elements and text, strictly: what a browser would mend is a fault.

use std::collections::BTreeSet;

/// Elements without an end.
const VOID: [&str; 7] = ["meta", "br", "input", "hr", "img", "link", "base"];

/// Elements whose text is no markup.
const RAW: [&str; 2] = ["style", "script"];

/// An element's beginning.
#[derive(Debug)]
pub struct Element {
    /// Its name, in small letters.
    pub name: String,
    /// Names, in small letters, and values with what was escaped put back.
    pub attributes: Vec<(String, String)>,
}

/// What a page is made of.
pub struct Markup {
    /// In the order in which they begin.
    pub elements: Vec<Element>,
    /// The text between elements, as it is read; elements are told apart by a new line.
    pub text: String,
    /// The text of elements that hold no markup, by their names.
    pub raw: Vec<(String, String)>,
}

impl Markup {
    /// Of a page.
    ///
    /// # Panics
    /// At what is not well formed: an element that ends without beginning or the other way round,
    /// an attribute without quotes, a bare `<`.
    pub fn of(page: &str) -> Self {
        let mut markup = Self {
            elements: Vec::new(),
            text: String::new(),
            raw: Vec::new(),
        };
        let mut rest = page.strip_prefix("<!DOCTYPE html>").expect("begins with its kind");
        let mut open: Vec<String> = Vec::new();
        while let Some(at) = rest.find('<') {
            markup.text.push_str(&read(&rest[..at]));
            markup.text.push('\n');
            rest = &rest[at..];
            let around = &rest[..rest.floor_char_boundary(80)];
            if let Some(ended) = rest.strip_prefix("</") {
                let (name, after) = ended.split_once('>').unwrap();
                assert_eq!(open.pop().as_deref(), Some(name), "{around}");
                rest = after;
                continue;
            }
            let (element, is_closed, after) = element(&rest[1..]);
            let name = element.name.clone();
            markup.elements.push(element);
            rest = after;
            if RAW.contains(&name.as_str()) {
                let (raw, after) = rest.split_once(&format!("</{name}>")).unwrap();
                markup.raw.push((name, raw.trim().to_owned()));
                rest = after;
            } else if !is_closed && !VOID.contains(&name.as_str()) {
                open.push(name);
            }
        }
        assert!(open.is_empty(), "never ended: {open:?}");
        markup.text.push_str(&read(rest));
        markup
    }

    /// The names of all elements.
    pub fn names(&self) -> BTreeSet<&str> {
        self.elements.iter().map(|element| element.name.as_str()).collect()
    }
}

/// The element that begins behind `<`: itself, whether it ends at once, and what follows.
fn element(text: &str) -> (Element, bool, &str) {
    let end_of_name = text.find(|c: char| !c.is_ascii_alphanumeric()).unwrap();
    let name = text[..end_of_name].to_lowercase();
    assert!(!name.is_empty(), "a bare <: {}", &text[..text.floor_char_boundary(80)]);
    let mut attributes = Vec::new();
    let mut rest = text[end_of_name..].trim_start();
    loop {
        if let Some(after) = rest.strip_prefix("/>") {
            return (Element { name, attributes }, true, after);
        }
        if let Some(after) = rest.strip_prefix('>') {
            return (Element { name, attributes }, false, after);
        }
        let end = rest
            .find(|c: char| !(c.is_ascii_alphanumeric() || matches!(c, '-' | ':' | '_')))
            .unwrap();
        assert!(end > 0, "no attribute: {}", &rest[..rest.floor_char_boundary(80)]);
        let attribute = rest[..end].to_lowercase();
        rest = &rest[end..];
        let value = match rest.strip_prefix("=\"") {
            Some(quoted) => {
                let (value, after) = quoted.split_once('"').unwrap();
                assert!(!value.contains('<'), "{attribute}: {value}");
                rest = after;
                value
            }
            None => "",
        };
        attributes.push((attribute, read(value)));
        rest = rest.trim_start();
    }
}

/// Text as it is read: what was escaped put back.
fn read(text: &str) -> String {
    let mut read = text.to_owned();
    for (escaped, letter) in [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&apos;", "'"),
        ("&#x2f;", "/"),
        ("&lsquo;", "\u{2018}"),
        ("&rsquo;", "\u{2019}"),
        ("&ldquo;", "\u{201c}"),
        ("&rdquo;", "\u{201d}"),
    ] {
        read = read.replace(escaped, letter);
    }
    assert_eq!(read.matches('&').count(), read.matches("&amp;").count(), "{read}");
    read.replace("&amp;", "&")
}

#[test]
fn a_page_is_taken_apart() {
    let page = "<!DOCTYPE html><p id=\"a\" hidden>1 &lt; 2<br>&amp;lt;</p><style>p > a {}</style><path d=\"M0 0\"/>";
    let markup = Markup::of(page);
    assert_eq!(
        markup.names().into_iter().collect::<Vec<_>>(),
        ["br", "p", "path", "style"]
    );
    assert_eq!(
        markup.text.split('\n').collect::<Vec<_>>(),
        ["", "1 < 2", "&lt;", "", "", ""]
    );
    assert_eq!(markup.raw, [("style".to_owned(), "p > a {}".to_owned())]);
    assert_eq!(markup.elements[0].attributes[0], ("id".to_owned(), "a".to_owned()));
    for broken in [
        "<p>",
        "</p>",
        "<p></a>",
        "1 < 2",
        "<p id=a></p>",
        "&copy;",
        "<p id=\"<b>\"></p>",
    ] {
        let page = format!("<!DOCTYPE html>{broken}");
        assert!(std::panic::catch_unwind(|| Markup::of(&page)).is_err(), "{broken}");
    }
}
