//! Drawings: what is there is drawn where the axis says, what is not there is not drawn, and
//! no text is cut off or covers another, whatever the numbers.

mod funnel;
mod groups;
mod incidence;
mod methods;
mod monthly;
mod strip;
mod timeline;

use std::collections::BTreeSet;

/// A text of a picture and the box it takes.
#[derive(Clone, Debug, PartialEq)]
struct Text {
    words: String,
    x: f64,
    y: f64,
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

/// The value of an attribute of the first element in a text.
fn attribute<'a>(element: &'a str, name: &str) -> &'a str {
    let start = element
        .find(&format!(" {name}=\""))
        .unwrap_or_else(|| panic!("no {name} in {element}"));
    element[start..].split('"').nth(1).unwrap()
}

fn number(element: &str, name: &str) -> f64 {
    attribute(element, name).parse().unwrap()
}

/// The elements of a name, each without its content.
fn elements<'a>(svg: &'a str, name: &str) -> Vec<&'a str> {
    let opening = format!("<{name} ");
    svg.match_indices(&opening)
        .map(|(at, _)| &svg[at..at + svg[at..].find('>').unwrap()])
        .collect()
}

/// Those drawn in a colour of the page, as `fill` or `stroke`.
fn coloured<'a>(svg: &'a str, name: &str, kind: &str, colour: &str) -> Vec<&'a str> {
    let wanted = format!(" {kind}=\"var(--{colour})\"");
    let mut found = elements(svg, name);
    found.retain(|element| element.contains(&wanted));
    found
}

/// The points of a line or an area.
fn points(element: &str) -> Vec<(f64, f64)> {
    let pair = |text: &str| {
        let (x, y) = text.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    attribute(element, "points").split_whitespace().map(pair).collect()
}

/// All texts. Letters are taken to be as wide as they usually are in sans-serif faces, and
/// 0.7 of the type size high (both from memory).
fn texts(svg: &str) -> Vec<Text> {
    let mut texts = Vec::new();
    for element in svg.split("<text ").skip(1) {
        let element = format!(" {}", element.split("</text>").next().unwrap());
        let words = element.split_once('>').unwrap().1.trim().to_owned();
        let (x, y, size) = (
            number(&element, "x"),
            number(&element, "y"),
            number(&element, "font-size"),
        );
        let length = unescaped(&words).chars().map(usual_width).sum::<f64>() * size;
        let before = match attribute(&element, "text-anchor") {
            "start" => 0.0,
            "middle" => length / 2.0,
            _ => length,
        };
        let half = size * 0.35;
        // Turned texts run upwards.
        let (left, top, right, bottom) = if element.contains(" transform=") {
            (x - half, y + before - length, x + half, y + before)
        } else {
            (x - before, y - half, x - before + length, y + half)
        };
        texts.push(Text {
            words,
            x,
            y,
            left,
            top,
            right,
            bottom,
        });
    }
    texts
}

/// Of a letter, in parts of the type size.
fn usual_width(letter: char) -> f64 {
    match letter {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '/' | 'i' | 'j' | 'l' | 'I' | '\u{202f}' => 0.28,
        'f' | 't' | 'r' | '(' | ')' | '-' => 0.34,
        'm' | 'w' | 'M' | 'W' | '%' | '…' => 0.85,
        'A'..='Z' => 0.68,
        _ => 0.56,
    }
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&apos;", "'")
        .replace("&amp;", "&")
}

fn says(svg: &str, words: &str) -> bool {
    texts(svg).iter().any(|text| text.words == words)
}

/// All texts as one, without spaces: whatever the line breaks.
fn told(svg: &str) -> String {
    let all: String = texts(svg).into_iter().map(|text| text.words).collect();
    all.replace(' ', "")
}

/// Diamonds in ink.
fn diamonds(svg: &str) -> usize {
    let polygons = coloured(svg, "polygon", "fill", "ink");
    polygons.iter().filter(|polygon| points(polygon).len() == 4).count()
}

/// The size of a picture.
fn size(svg: &str) -> (f64, f64) {
    let view: Vec<f64> = attribute(svg, "viewBox")
        .split(' ')
        .map(|n| n.parse().unwrap())
        .collect();
    (view[2], view[3])
}

/// Where a value lies between two labels of an upright axis.
fn height_of(svg: &str, value: f64, low: (&str, f64), high: (&str, f64)) -> f64 {
    let y = |label: &str| texts(svg).into_iter().find(|text| text.words == label).unwrap().y;
    let (from, to) = (y(low.0), y(high.0));
    from + (value - low.1) / (high.1 - low.1) * (to - from)
}

/// What holds of every picture.
fn assert_sound(svg: &str) {
    assert!(
        svg.starts_with("<svg viewBox=\"0 0 ") && svg.ends_with("</svg>"),
        "{svg}"
    );
    assert!(svg.contains(" role=\"img\" ") && svg.contains("<title ") && svg.contains("<desc "));
    for wrong in ["NaN", "inf", "\"#", "<script", "style="] {
        assert!(!svg.contains(wrong), "{wrong} in {svg}");
    }
    let named: BTreeSet<&str> = svg
        .split("var(--")
        .skip(1)
        .map(|rest| rest.split(')').next().unwrap())
        .collect();
    let known = BTreeSet::from(["ink", "mark", "quiet", "pale", "paper"]);
    assert!(named.is_subset(&known), "{named:?}");
    let ids: Vec<&str> = svg
        .split(" id=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect();
    assert_eq!(ids.len(), ids.iter().collect::<BTreeSet<_>>().len());
    assert_eq!(ids, attribute(svg, "aria-labelledby").split(' ').collect::<Vec<_>>());

    let (width, height) = size(svg);
    assert!(width <= 720.0 && height <= 1200.0, "{width} by {height}");
    for name in ["polyline", "polygon"] {
        for (x, y) in elements(svg, name).into_iter().flat_map(points) {
            let is_within = (-1.0..=width + 1.0).contains(&x) && (-1.0..=height + 1.0).contains(&y);
            assert!(is_within, "{x} {y} in {width} by {height}");
        }
    }
    let texts = texts(svg);
    for (i, text) in texts.iter().enumerate() {
        let is_within = text.left >= 0.0 && text.right <= width && text.top >= 0.0 && text.bottom <= height;
        assert!(is_within, "cut off: {text:?} in {width} by {height}");
        for other in &texts[..i] {
            let is_apart = text.left >= other.right
                || other.left >= text.right
                || text.top >= other.bottom
                || other.top >= text.bottom;
            assert!(is_apart, "{text:?} covers {other:?}");
        }
    }
}

#[test]
fn texts_that_touch_or_leave_the_picture_are_noticed() {
    let picture = |x: u32| {
        format!(
            "<svg viewBox=\"0 0 100 50\" role=\"img\" aria-labelledby=\"a\">\n<title id=\"a\"></title><desc ></desc>\
             <text x=\"10\" y=\"20\" text-anchor=\"start\" font-size=\"10\">one</text>\
             <text x=\"{x}\" y=\"22\" text-anchor=\"start\" font-size=\"10\">two</text></svg>"
        )
    };
    assert_sound(&picture(30));
    for wrong in [20, 90] {
        assert!(std::panic::catch_unwind(|| assert_sound(&picture(wrong))).is_err());
    }
}
