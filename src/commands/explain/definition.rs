//! What a measure is, from the headers of its query and of the tables it rests on.

use crate::pages::words;
use crate::queries::catalogue::{self, Query};
use crate::queries::header::Figure;

/// Parts of a header that define a measure, and what they are called.
const PARTS: [(&str, &str); 6] = [
    ("what", "What"),
    ("figures", "Figures"),
    ("left out", "Left out"),
    ("choices", "Choices"),
    ("direction", "Direction"),
    ("source", "Source"),
];

/// Widest line of prose.
const LINE: usize = 96;

/// What the header says, and the choices of the derived tables it rests on.
pub(super) fn definition(query: &Query) -> String {
    let mut text = format!("{} ({})\n", query.header.get("title"), query.name);
    for (key, title) in PARTS {
        let stated = query.header.get(key);
        if key == "figures" {
            text.push_str(&figures(query));
        } else if !stated.is_empty() {
            text.push_str(&paragraph(title, stated));
        }
    }
    for derived in catalogue::rests_on(query) {
        let title = format!("Table {}", derived.name);
        let stated = format!(
            "{}: {}. {}",
            derived.header.get("title"),
            derived.header.get("grain"),
            derived.header.get("choices")
        );
        text.push_str(&paragraph(&title, stated.trim()));
    }
    text
}

/// A line for each figure, and what the names of its outcomes mean.
fn figures(query: &Query) -> String {
    let lines = query.header.figures();
    let lines = lines.iter().map(|figure| format!("  {}\n", formula(figure)));
    let outcomes = query.header.list("outcomes");
    let outcomes: Vec<String> = outcomes.iter().map(|name| meaning(name)).collect();
    format!(
        "\nFigures\n{}{}",
        lines.collect::<String>(),
        paragraph("Outcomes", &outcomes.join("; "))
    )
}

/// `untreated_6h = (late + none) / (in_time + late + none)`.
fn formula(figure: &Figure<'_>) -> String {
    let sum = |parts: &[&str]| match parts {
        [one] => (*one).to_owned(),
        more => format!("({})", more.join(" + ")),
    };
    let mut text = format!(
        "{} = {} / {}",
        figure.name,
        sum(&figure.numerator),
        sum(&figure.denominator)
    );
    if !figure.besides.is_empty() {
        text.push_str(&format!(", told besides: {}", figure.besides.join(", ")));
    }
    if !figure.of.is_empty() {
        text.push_str(&format!(", needs the table: {}", figure.of.join(", ")));
    }
    if let (Some(word), [counted, ..]) = (figure.when, figure.numerator.as_slice()) {
        text.push_str(&format!(", {counted} being those marked {word}"));
    }
    text
}

/// The name of an outcome, with its words where they say more.
fn meaning(name: &str) -> String {
    let words = words::outcome(name);
    match words == name.replace('_', " ") {
        true => name.to_owned(),
        false => format!("{name}: {words}"),
    }
}

fn paragraph(title: &str, prose: &str) -> String {
    let mut text = format!("\n{title}\n ");
    let mut width = 1;
    for word in prose.split_whitespace() {
        let length = word.chars().count();
        if width + 1 + length > LINE {
            text.push_str("\n ");
            width = 1;
        }
        text.push(' ');
        text.push_str(word);
        width += 1 + length;
    }
    text.push('\n');
    text
}
