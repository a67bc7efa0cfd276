//! One message as segments, fields, repetitions and components (HL7 v2.5.1, chapter 2).
//!
//! Fields and components are counted from 1, as the standard counts them: field 1 of `MSH`
//! is the separator itself. Of a component with subcomponents the first counts.

use encoding_rs::Encoding;

use crate::extracts::reason::Reason;
use crate::extracts::record::Fault;

use super::escapes;
use super::marks::Marks;

/// A message; it has at least its `MSH`.
#[derive(Debug)]
pub(super) struct Message<'t> {
    header: Segment<'t>,
    segments: Vec<Segment<'t>>,
}

/// A segment.
#[derive(Clone, Debug)]
pub(super) struct Segment<'t> {
    pub(super) name: &'t str,
    /// Which of its name, where there are several.
    number: Option<usize>,
    fields: Vec<&'t str>,
    marks: Marks,
}

/// A field, or one repetition of it, as it is written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Field<'t> {
    pub(super) text: &'t str,
    marks: Marks,
}

impl<'t> Message<'t> {
    /// Takes a message apart.
    ///
    /// # Errors
    /// Which segment is none.
    pub(super) fn parse(text: &'t str, encoding: &'static Encoding) -> Result<Self, Fault> {
        let mut lines = text.split(['\r', '\n']).filter(|line| !line.trim().is_empty());
        let first = lines.next().unwrap_or_default();
        let marks = Marks::of(first, encoding)?;
        let header = Segment::parse(first, marks).ok_or_else(|| no_segment(1, first))?;
        let mut segments: Vec<Segment<'t>> = Vec::new();
        for (i, line) in lines.enumerate() {
            segments.push(Segment::parse(line, marks).ok_or_else(|| no_segment(i + 2, line))?);
        }
        let mut counts: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
        for segment in &mut segments {
            let count = counts.entry(segment.name).or_default();
            *count += 1;
            segment.number = Some(*count);
        }
        for segment in &mut segments {
            if counts.get(segment.name) == Some(&1) {
                segment.number = None;
            }
        }
        Ok(Self { header, segments })
    }

    pub(super) fn header(&self) -> &Segment<'t> {
        &self.header
    }

    /// All segments after `MSH`.
    pub(super) fn segments(&self) -> &[Segment<'t>] {
        &self.segments
    }

    /// The segments of a name.
    pub(super) fn all(&self, name: &str) -> impl Iterator<Item = &Segment<'t>> {
        self.segments.iter().filter(move |segment| segment.name == name)
    }

    /// The first segment of a name.
    pub(super) fn first(&self, name: &str) -> Option<&Segment<'t>> {
        self.all(name).next()
    }
}

impl<'t> Segment<'t> {
    fn parse(line: &'t str, marks: Marks) -> Option<Self> {
        let mut fields: Vec<&str> = line.split(marks.field).collect();
        let name = *fields.first()?;
        let is_name = name.len() == 3
            && name.starts_with(|c: char| c.is_ascii_uppercase())
            && name.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit());
        if name == "MSH" {
            fields.insert(1, "");
        }
        is_name.then_some(Self {
            name,
            number: None,
            fields,
            marks,
        })
    }

    /// A field with all its repetitions.
    pub(super) fn field(&self, n: usize) -> Field<'t> {
        Field {
            text: self.fields.get(n).copied().unwrap_or_default(),
            marks: self.marks,
        }
    }

    /// A component of the first repetition of a field.
    pub(super) fn part(&self, n: usize, component: usize) -> Option<String> {
        self.field(n).part(component)
    }

    /// Where a field stands, in words.
    pub(super) fn place(&self, n: usize) -> String {
        match self.number {
            Some(number) => format!("{} {number}, field {n}", self.name),
            None => format!("{}, field {n}", self.name),
        }
    }

    /// A fault of a field.
    pub(super) fn fault(&self, n: usize, kind: Reason, column: &str, what: &str) -> Fault {
        let remedy = format!("{}: {what}", self.place(n));
        Fault::of_cell(kind, column, self.field(n).text).with_remedy(remedy)
    }
}

impl<'t> Field<'t> {
    /// Nothing is said.
    pub(super) fn is_empty(self) -> bool {
        self.text.trim().is_empty()
    }

    /// The repetitions; a field that says nothing has none.
    pub(super) fn repetitions(self) -> impl Iterator<Item = Self> {
        let marks = self.marks;
        let repetition = marks.repetition.unwrap_or(marks.field);
        let all = self.text.split(repetition);
        all.map(move |text| Self { text, marks })
            .filter(|field| !field.is_empty())
    }

    /// A component of the first repetition: `None` when nothing is said, an empty text when
    /// it is said to be empty.
    pub(super) fn part(self, component: usize) -> Option<String> {
        let marks = self.marks;
        let repetition = marks.repetition.unwrap_or(marks.field);
        let first = self.text.split(repetition).next()?;
        let part = first.split(marks.component).nth(component.checked_sub(1)?)?;
        let part = part.split(marks.subcomponent.unwrap_or(marks.field)).next()?;
        said(part, marks)
    }

    /// The field as one text, whatever delimiters stand in it.
    pub(super) fn whole(self) -> Option<String> {
        said(self.text, self.marks)
    }
}

/// What a text says: nothing, that it is empty (two quotes), or itself.
fn said(text: &str, marks: Marks) -> Option<String> {
    match text.trim() {
        "" => None,
        "\"\"" => Some(String::new()),
        text => Some(escapes::replaced(text, marks)),
    }
}

fn no_segment(number: usize, line: &str) -> Fault {
    let shown: String = line.chars().take(40).collect();
    let remedy = format!(
        "segment {number} does not begin with a name and a field separator; a line break within a field is written \\.br\\"
    );
    Fault::of_cell(Reason::UnreadableRecord, "", &shown).with_remedy(remedy)
}
