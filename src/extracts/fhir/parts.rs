//! The data types of FHIR R4 that the resources share, with the fields that are read.
//! Everything else is skipped. Text is borrowed from the line where it has no escapes.

use std::borrow::Cow;
use std::fmt;
use std::ops::Deref;

use serde::de::{Deserializer, Visitor};
use serde::{Deserialize, de};
use serde_json::{Number, Value};

/// Text that is borrowed where it can be.
#[derive(Clone, Debug, Default)]
pub(super) struct Text<'a>(Cow<'a, str>);

impl Deref for Text<'_> {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl<'de: 'a, 'a> Deserialize<'de> for Text<'a> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Borrowing;
        impl<'de> Visitor<'de> for Borrowing {
            type Value = Text<'de>;

            fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
                to.write_str("a string")
            }

            fn visit_borrowed_str<E: de::Error>(self, text: &'de str) -> Result<Text<'de>, E> {
                Ok(Text(Cow::Borrowed(text)))
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Text<'de>, E> {
                Ok(Text(Cow::Owned(text.to_owned())))
            }
        }
        from.deserialize_str(Borrowing)
    }
}

/// A list that may be absent or null.
pub(super) fn list<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Vec<T>, D::Error> {
    Ok(Option::<Vec<T>>::deserialize(from)?.unwrap_or_default())
}

/// The text of a field; empty when it is absent.
pub(super) fn text<'t>(field: &'t Option<Text<'_>>) -> &'t str {
    field.as_deref().unwrap_or_default().trim()
}

/// `meta`.
#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Meta<'a> {
    #[serde(borrow)]
    pub(super) last_updated: Option<Text<'a>>,
}

/// Coding.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Coding<'a> {
    #[serde(borrow)]
    pub(super) system: Option<Text<'a>>,
    pub(super) code: Option<Text<'a>>,
    pub(super) display: Option<Text<'a>>,
}

/// CodeableConcept.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Concept<'a> {
    #[serde(borrow, deserialize_with = "list")]
    pub(super) coding: Vec<Coding<'a>>,
    pub(super) text: Option<Text<'a>>,
}

/// Identifier.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Identifier<'a> {
    #[serde(borrow, rename = "type")]
    pub(super) kind: Option<Concept<'a>>,
    pub(super) system: Option<Text<'a>>,
    pub(super) value: Option<Text<'a>>,
}

/// Reference.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Reference<'a> {
    #[serde(borrow)]
    pub(super) reference: Option<Text<'a>>,
    #[serde(rename = "type")]
    pub(super) kind: Option<Text<'a>>,
    pub(super) identifier: Option<Identifier<'a>>,
    pub(super) display: Option<Text<'a>>,
}

/// Quantity.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Quantity<'a> {
    pub(super) value: Option<Number>,
    #[serde(borrow)]
    pub(super) comparator: Option<Text<'a>>,
    pub(super) unit: Option<Text<'a>>,
    pub(super) system: Option<Text<'a>>,
    pub(super) code: Option<Text<'a>>,
}

/// Period.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Period<'a> {
    #[serde(borrow)]
    pub(super) start: Option<Text<'a>>,
    pub(super) end: Option<Text<'a>>,
}

/// Extension, with the kinds of value that are read.
#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Extension<'a> {
    #[serde(borrow)]
    pub(super) url: Option<Text<'a>>,
    pub(super) value_date_time: Option<Text<'a>>,
    pub(super) value_string: Option<Text<'a>>,
    pub(super) value_code: Option<Text<'a>>,
    pub(super) value_integer: Option<Number>,
    pub(super) value_codeable_concept: Option<Concept<'a>>,
}

/// The extensions of a primitive field, such as `_birthDate`.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Extended<'a> {
    #[serde(borrow, deserialize_with = "list")]
    pub(super) extension: Vec<Extension<'a>>,
}

/// The resource inside another that `#id` means, if it is of that type.
pub(super) fn contained<'v, T: Deserialize<'v>>(inside: &'v [Value], kind: &str, id: &str) -> Option<T> {
    let named = |value: &&Value, field: &str, is: &str| value.get(field).and_then(Value::as_str) == Some(is);
    let found = inside
        .iter()
        .find(|value| named(value, "resourceType", kind) && named(value, "id", id));
    T::deserialize(found?).ok()
}

/// A number as the extract writes it: digits and a decimal point, no exponent.
pub(super) fn number(number: &Number) -> String {
    let written = number.to_string();
    match number.as_f64() {
        Some(value) if written.contains(['e', 'E']) => value.to_string(),
        _ => written,
    }
}

/// A count: `2.0` is 2.
pub(super) fn count(counted: &Number) -> String {
    let written = number(counted);
    match written.strip_suffix(".0") {
        Some(whole) => whole.to_owned(),
        None => written,
    }
}

impl Quantity<'_> {
    /// Its unit: the UCUM code, else what stands there.
    pub(super) fn unit(&self) -> &str {
        let (unit, code) = (text(&self.unit), text(&self.code));
        let is_ucum = text(&self.system) == "http://unitsofmeasure.org";
        match (is_ucum, code, unit) {
            (true, code, _) if !code.is_empty() => code,
            (_, code, "") => code,
            (_, _, unit) => unit,
        }
    }

    /// As it was written, for a person to read.
    pub(super) fn as_written(&self) -> String {
        let value = self.value.as_ref().map(number).unwrap_or_default();
        let written = format!("{}{value} {}", text(&self.comparator), self.unit());
        written.trim().to_owned()
    }
}

impl Concept<'_> {
    /// Its words: the text, else the first display, else the first code.
    pub(super) fn said(&self) -> &str {
        let displays = self.coding.iter().map(|coding| text(&coding.display));
        let codes = self.coding.iter().map(|coding| text(&coding.code));
        let all = std::iter::once(text(&self.text)).chain(displays).chain(codes);
        all.into_iter().find(|said| !said.is_empty()).unwrap_or_default()
    }

    /// Every way it is said: codes, displays, then the text.
    pub(super) fn ways(&self) -> impl Iterator<Item = &str> {
        let codings = self.coding.iter();
        let ways = codings.flat_map(|coding| [text(&coding.code), text(&coding.display)]);
        ways.chain(std::iter::once(text(&self.text)))
            .filter(|way| !way.is_empty())
    }
}
