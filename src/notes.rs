//! `notes.toml` of a warehouse: what the network changed, and when. Charts draw the notes; one
//! with `new_phase` begins a new phase of the figures it names, with limits of its own.

use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::month::Month;
use crate::nearest::nearest;

/// A longer text would not fit beside a chart.
const LONGEST_TEXT: usize = 80;

/// What was changed from the first day of a month on.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// The first month it holds for.
    #[serde(deserialize_with = "month")]
    pub month: Month,
    /// What was changed, in a few words.
    pub text: String,
    /// Names of the figures it is about; all when there is none.
    #[serde(default)]
    pub figures: Vec<String>,
    /// The change is expected to move these figures: they are compared before and after, and
    /// judged by limits of their own from then on.
    #[serde(default)]
    pub new_phase: bool,
}

/// All notes, by month.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Notes(pub Vec<Note>);

/// Why the notes are refused.
#[derive(Debug, thiserror::Error)]
pub enum NotesError {
    /// The file cannot be read.
    #[error("cannot read the notes {path}: {source}")]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text is no list of notes.
    #[error(
        "the notes are not valid\n{0}  to do: write each as [[note]] with month = \"2026-03\" and text = \"...\"; figures = [\"missed_referral\"] and new_phase = true may be added"
    )]
    Syntax(Box<toml::de::Error>),
    /// A note says something that cannot hold.
    #[error("the notes are not valid: {what}\n  to do: {remedy}")]
    Meaning {
        /// Which note, and what.
        what: String,
        /// What to do.
        remedy: String,
    },
}

impl Notes {
    /// The text of the notes at `path`; empty when there is no such file.
    ///
    /// # Errors
    /// When it is there and cannot be read.
    pub fn text(path: &Path) -> Result<String, NotesError> {
        match std::fs::read_to_string(path) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(String::new()),
            read => read.map_err(|source| NotesError::Unreadable {
                path: path.to_owned(),
                source,
            }),
        }
    }

    /// Reads notes.
    ///
    /// # Errors
    /// Names the line of an unknown or missing key, or the note that cannot hold.
    pub fn parse(text: &str) -> Result<Self, NotesError> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct File {
            #[serde(default)]
            note: Vec<Note>,
        }
        let File { note: mut notes } = toml::from_str(text).map_err(|what| NotesError::Syntax(Box::new(what)))?;
        for note in &notes {
            let length = note.text.trim().chars().count();
            if length == 0 || length > LONGEST_TEXT || note.text.chars().any(char::is_control) {
                return Err(NotesError::Meaning {
                    what: format!(
                        "the text of the note of {} is empty, too long or not one line",
                        note.month
                    ),
                    remedy: format!("say in at most {LONGEST_TEXT} characters what was changed"),
                });
            }
            if note.new_phase && note.figures.is_empty() {
                return Err(NotesError::Meaning {
                    what: format!("the note of {} begins a new phase of no figure", note.month),
                    remedy: "name the figures that the change was meant to move, as figures = [\"missed_referral\"]"
                        .to_owned(),
                });
            }
        }
        notes.sort_by_key(|note| note.month);
        Ok(Self(notes))
    }

    /// Refuses a figure that does not exist.
    ///
    /// # Errors
    /// Names the note, the figure and the one that may be meant.
    pub fn check(&self, known: &[String]) -> Result<(), NotesError> {
        let each = self
            .0
            .iter()
            .flat_map(|note| note.figures.iter().map(move |figure| (note, figure)));
        let Some((note, figure)) = each.into_iter().find(|(_, figure)| !known.contains(figure)) else {
            return Ok(());
        };
        Err(NotesError::Meaning {
            what: format!(
                "the note of {} names the figure '{figure}', which does not exist",
                note.month
            ),
            remedy: match nearest(figure, known.iter().map(String::as_str)) {
                Some(meant) => format!("did you mean {meant}?"),
                None => "`siskin measure` prints the names of all figures".to_owned(),
            },
        })
    }

    /// Notes about a figure.
    pub fn about<'a>(&'a self, figure: &'a str) -> impl Iterator<Item = &'a Note> {
        self.0
            .iter()
            .filter(move |note| note.figures.is_empty() || note.figures.iter().any(|name| name == figure))
    }
}

fn month<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Month, D::Error> {
    let text = String::deserialize(from)?;
    text.parse()
        .map_err(|_| serde::de::Error::custom(format!("'{text}' is no month such as 2026-03")))
}
