//! The protocol in plain words, a sentence a rule, so that a clinician can read and sign it.
//!
//! Numbers stand in the units in which the file wrote them, each rule with its source.

mod line;
mod phrases;
mod recheck;
mod rules;

use super::lines::Piece;
use super::{Protocol, UMOL_L_PER_MG_DL};
use phrases::list;

/// A heading, and the sentences under it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chapter {
    /// What it is about.
    pub title: String,
    /// A sentence a rule.
    pub sentences: Vec<String>,
    /// Rows of a table below them, aligned.
    pub table: Vec<String>,
}

impl Chapter {
    /// The chapter as lines of at most `width` columns, where words allow it.
    pub fn to_text(&self, width: usize) -> String {
        let sentences = self.sentences.iter();
        let lines = sentences.map(|sentence| phrases::wrapped(sentence, "  - ", "    ", width));
        let lines: String = lines.collect();
        let table: String = self.table.iter().map(|row| format!("    {row}\n")).collect();
        format!("{}{lines}{table}", phrases::wrapped(&self.title, "", "", width))
    }
}

impl Protocol {
    /// What the protocol says, in plain words: first what holds for all, then version by version.
    pub fn in_words(&self) -> Vec<Chapter> {
        let mut chapters = vec![self.whole()];
        chapters.extend((0..self.versions().len()).map(|index| self.version_in_words(index)));
        chapters
    }

    fn whole(&self) -> Chapter {
        let plausible = self.plausible();
        let mut sentences = vec![
            "These are the rules of an audit of past care, no advice for a baby: the local protocol and a licensed clinician's judgement decide.".to_owned(),
            format!("Local times, days and months are those of {}.", self.zone().iana_name().unwrap_or("UTC")),
            format!(
                "A value below {} or above {} umol/L is set aside, and so is a test more than {} before birth; source: local definition.",
                plausible.umol_l_at_least,
                plausible.umol_l_at_most,
                phrases::minutes(plausible.test_before_birth_min)
            ),
            format!("1 mg/dL counts as {UMOL_L_PER_MG_DL} umol/L; source: the customary factor."),
            match self.suppression().hide_below {
                0 | 1 => "On the committee's page no count is hidden.".to_owned(),
                2 => "On the committee's page a count of 1 is hidden; source: local definition.".to_owned(),
                5 => "On the committee's page counts from 1 to 4 are hidden; source: common practice.".to_owned(),
                below => format!(
                    "On the committee's page counts from 1 to {} are hidden; source: local definition.",
                    below - 1
                ),
            },
            match &self.audiences().committee {
                None => "The committee's page shows all measures.".to_owned(),
                Some(measures) => format!("The committee's page shows these measures: {}.", list(measures, "and")),
            },
        ];
        if !self.file.records.is_empty() {
            let limits = self
                .file
                .records
                .iter()
                .map(|(name, limit)| format!("{name} = {limit}"));
            let limits: Vec<String> = limits.collect();
            sentences.push(format!(
                "For the checks of the records these limits take the place of those that ship: {}.",
                list(&limits, "and")
            ));
        }
        Chapter {
            title: format!("Protocol of {}", self.network()),
            sentences,
            table: Vec::new(),
        }
    }

    fn version_in_words(&self, index: usize) -> Chapter {
        let version = &self.versions()[index];
        let next = self.versions().get(index + 1);
        let last_day = next.and_then(|next| next.in_force_from.yesterday().ok());
        let until = last_day.map_or_else(String::new, |day| format!(" until the end of {day}"));
        let before = if index == 0 {
            "; it also judges what happened before"
        } else {
            ""
        };
        let pieces = self.line_pieces();
        let pieces: Vec<&Piece> = pieces.iter().filter(|p| p.standard == version.line.standard).collect();
        let mut sentences = line::sentences(&version.line, &pieces);
        sentences.extend(rules::before_rechecks(version));
        sentences.extend(recheck::sentences(&version.recheck));
        sentences.extend(rules::after_rechecks(version));
        Chapter {
            title: format!(
                "{}, in force from {}{until}{before}",
                version.name, version.in_force_from
            ),
            sentences,
            table: line::table(&pieces),
        }
    }
}
