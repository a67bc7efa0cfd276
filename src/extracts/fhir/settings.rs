//! How a hospital's export is to be read: its codes, and which identifier is the baby's.

use crate::extracts::codes::Codes;

use super::parts::{Concept, Extension, Identifier, text};
use super::resources::{Component, Patient};

/// How an export is read.
#[derive(Clone, Debug)]
pub struct FhirSettings {
    /// What codes and words mean.
    pub codes: Codes,
    /// The type of the identifier that is the baby's id: `MR`, of HL7 table 0203.
    pub identifier_type: String,
    /// The system of that identifier, where a patient has several of the type.
    pub identifier_system: Option<String>,
}

impl Default for FhirSettings {
    fn default() -> Self {
        Self {
            codes: Codes::default(),
            identifier_type: "MR".to_owned(),
            identifier_system: None,
        }
    }
}

/// A coding and what it means.
pub(super) struct Meant<'s, 'c> {
    pub(super) meaning: &'s str,
    pub(super) system: &'c str,
    pub(super) code: &'c str,
}

/// What the components and extensions of a resource say beside its value: pairs of a meaning
/// and the text given for it.
#[derive(Default)]
pub(super) struct Details<'m>(Vec<(&'m str, String)>);

impl Details<'_> {
    /// The text given for that meaning; the first counts.
    pub(super) fn of(&self, meaning: &str) -> Option<String> {
        let mut found = self.0.iter().filter(|(stated, _)| *stated == meaning);
        found.next().map(|(_, said)| said.clone())
    }
}

impl FhirSettings {
    /// Whether an identifier is of the wanted type and system; one without a type can be,
    /// when no system is wanted or it is the wanted one.
    pub(super) fn is_wanted(&self, identifier: &Identifier<'_>) -> bool {
        let has_type = identifier.kind.is_some();
        !text(&identifier.value).is_empty()
            && self.is_of_system(identifier)
            && (!has_type || self.is_of_type(identifier))
    }

    fn is_of_system(&self, identifier: &Identifier<'_>) -> bool {
        let wanted = self.identifier_system.as_deref();
        wanted.is_none_or(|wanted| wanted == text(&identifier.system))
    }

    fn is_of_type(&self, identifier: &Identifier<'_>) -> bool {
        let codings = identifier.kind.iter().flat_map(|kind| &kind.coding);
        codings
            .into_iter()
            .any(|coding| text(&coding.code) == self.identifier_type)
    }

    /// The identifier of the wanted type and system, else one of that system without a type;
    /// empty when there is none. One of another type may be another's.
    pub(super) fn identifier<'t>(&self, identifiers: &'t [Identifier<'_>]) -> &'t str {
        let mut wanted = identifiers.iter().filter(|identifier| self.is_wanted(identifier));
        let typed = wanted.clone().find(|identifier| self.is_of_type(identifier));
        typed
            .or_else(|| wanted.next())
            .map_or("", |identifier| text(&identifier.value))
    }

    /// The id of a baby in the tables.
    pub(super) fn infant_id(&self, patient: &Patient<'_>) -> String {
        let identifier = self.identifier(&patient.identifier);
        let id = if identifier.is_empty() {
            text(&patient.id)
        } else {
            identifier
        };
        id.to_owned()
    }

    /// What a concept means: by its first coding that means something, else by its text.
    pub(super) fn meaning<'s, 'c>(&'s self, concept: Option<&'c Concept<'_>>) -> Option<Meant<'s, 'c>> {
        let concept = concept?;
        for coding in &concept.coding {
            let (system, code) = (text(&coding.system), text(&coding.code));
            if let Some(meaning) = self.codes.meaning(system, code).filter(|_| !code.is_empty()) {
                return Some(Meant { meaning, system, code });
            }
        }
        let code = text(&concept.text);
        let meaning = self.codes.meaning("", code).filter(|_| !code.is_empty())?;
        Some(Meant {
            meaning,
            system: "",
            code,
        })
    }

    /// The word of the contract for a concept, in a column; none when no way of saying it is listed.
    pub(super) fn word(&self, column: &str, concept: &Concept<'_>) -> Option<&str> {
        concept.ways().find_map(|way| self.codes.word(column, way))
    }

    /// The word of the contract, else the words of the concept.
    pub(super) fn word_or_said(&self, column: &str, concept: &Concept<'_>) -> String {
        self.word(column, concept).unwrap_or_else(|| concept.said()).to_owned()
    }

    /// What the components and the extensions of a resource say, in the words of the contract.
    pub(super) fn details(&self, components: &[Component<'_>], extensions: &[Extension<'_>]) -> Details<'_> {
        let word = |meaning: &str, said: String| self.codes.word(meaning, &said).map_or(said.clone(), str::to_owned);
        let mut details = Vec::new();
        for component in components {
            let meant = self.meaning(component.code.as_ref());
            details.extend(meant.map(|Meant { meaning, .. }| (meaning, word(meaning, component.said(self, meaning)))));
        }
        for extension in extensions {
            let meaning = self.meaning_of_url(text(&extension.url));
            details.extend(meaning.map(|meaning| (meaning, word(meaning, extension.said(self, meaning)))));
        }
        Details(details)
    }

    /// `urn:siskin:setting` is the code `setting` of the system `urn:siskin`.
    fn meaning_of_url(&self, url: &str) -> Option<&str> {
        let (system, code) = url.rsplit_once([':', '/', '#', '|'])?;
        self.codes.meaning(system, code)
    }
}

impl Component<'_> {
    fn said(&self, settings: &FhirSettings, column: &str) -> String {
        if let Some(concept) = &self.value_codeable_concept {
            return settings.word_or_said(column, concept);
        }
        if let Some(number) = &self.value_integer {
            return super::parts::count(number);
        }
        if let Some(quantity) = self
            .value_quantity
            .as_ref()
            .and_then(|quantity| quantity.value.as_ref())
        {
            return super::parts::count(quantity);
        }
        text(&self.value_string).to_owned()
    }
}

impl Extension<'_> {
    fn said(&self, settings: &FhirSettings, column: &str) -> String {
        if let Some(concept) = &self.value_codeable_concept {
            return settings.word_or_said(column, concept);
        }
        if let Some(number) = &self.value_integer {
            return super::parts::count(number);
        }
        let said = [&self.value_string, &self.value_code, &self.value_date_time];
        said.into_iter()
            .map(text)
            .find(|said| !said.is_empty())
            .unwrap_or_default()
            .to_owned()
    }
}

/// A concept's first coding, for the list of codes that no table wants.
pub(super) fn first_coding(concept: Option<&Concept<'_>>) -> crate::extracts::record::Code {
    let Some(concept) = concept else {
        return Default::default();
    };
    let (system, code) = match concept.coding.first() {
        Some(coding) => (text(&coding.system), text(&coding.code)),
        None => ("", text(&concept.text)),
    };
    crate::extracts::record::Code {
        system: system.to_owned(),
        code: code.to_owned(),
        display: concept.said().to_owned(),
    }
}
