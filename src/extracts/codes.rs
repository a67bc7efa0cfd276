//! What codes and words of hospital systems mean: lists, not code.
//!
//! `codes.toml` holds those that ship; a warehouse's `sources.toml` adds to them.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

/// Lists as they stand in a file.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodeLists {
    /// Name of a code system, and its other names.
    #[serde(default)]
    pub systems: BTreeMap<String, Vec<String>>,
    /// A meaning, and its codes as `system|code`.
    #[serde(default)]
    pub codes: BTreeMap<String, Vec<String>>,
    /// For a column, words of sources and the word of the contract.
    #[serde(default)]
    pub words: BTreeMap<String, BTreeMap<String, String>>,
}

/// What each code and word means.
#[derive(Clone, Debug)]
pub struct Codes {
    systems: BTreeMap<String, String>,
    meanings: BTreeMap<(String, String), String>,
    words: BTreeMap<(String, String), String>,
}

impl Codes {
    /// The lists that ship, and those of the site on top.
    ///
    /// # Errors
    /// Which meaning of the site's lists is not known.
    pub fn with(site: &CodeLists) -> Result<Self, String> {
        let shipped = shipped();
        if site.words.contains_key(MEASURES) {
            return Err(format!(
                "words.{MEASURES} cannot be changed, as it decides which results replace each other; \
                name the laboratory's codes under words.analyte"
            ));
        }
        let unknown = |meaning: &&String| !shipped.codes.contains_key(*meaning);
        if let Some(meaning) = site.codes.keys().find(unknown) {
            let known: Vec<&str> = shipped.codes.keys().map(String::as_str).collect();
            return Err(format!(
                "codes.{meaning} is no meaning; use one of: {}",
                known.join(", ")
            ));
        }
        let mut all = Self {
            systems: BTreeMap::new(),
            meanings: BTreeMap::new(),
            words: BTreeMap::new(),
        };
        for lists in [&shipped, site] {
            for (name, others) in &lists.systems {
                for other in others {
                    all.systems.insert(other.to_lowercase(), name.clone());
                }
            }
            for (meaning, codes) in &lists.codes {
                for code in codes {
                    let (system, code) = code.rsplit_once('|').unwrap_or(("", code));
                    let key = (all.system(system), code.to_lowercase());
                    all.meanings.insert(key, meaning.clone());
                }
            }
            for (column, words) in &lists.words {
                for (word, meant) in words {
                    all.words.insert((column.clone(), word.to_lowercase()), meant.clone());
                }
            }
        }
        Ok(all)
    }

    /// The name of a code system that may be called otherwise.
    pub fn system(&self, called: &str) -> String {
        let known = self.systems.get(&called.to_lowercase());
        known.cloned().unwrap_or_else(|| called.to_owned())
    }

    /// What a code means: a key of `[codes]`.
    pub fn meaning(&self, system: &str, code: &str) -> Option<&str> {
        let code = code.trim().to_lowercase();
        let with_system = self.meanings.get(&(self.system(system.trim()), code.clone()));
        with_system
            .or_else(|| self.meanings.get(&(String::new(), code)))
            .map(String::as_str)
    }

    /// The word of the contract for a source's word in a column.
    pub fn word(&self, column: &str, said: &str) -> Option<&str> {
        let key = (column.to_owned(), said.trim().to_lowercase());
        self.words.get(&key).map(String::as_str)
    }
}

impl Default for Codes {
    fn default() -> Self {
        Self::with(&CodeLists::default()).unwrap_or_else(|_| unreachable!("lists of nobody are never refused"))
    }
}

/// The list of what results measure.
const MEASURES: &str = "measures";

/// `total` or `direct` for the words and codes that mean it, in lower case. Only the list that
/// ships counts, so that neither a source nor the protocol changes the id of a result.
pub fn measured(analyte: &str) -> Option<&'static str> {
    static MEASURED: LazyLock<BTreeMap<String, String>> =
        LazyLock::new(|| shipped().words.remove(MEASURES).unwrap_or_default());
    MEASURED.get(analyte).map(String::as_str)
}

/// The lists that ship with the program; `tests/sources` holds that they can be read.
pub fn shipped() -> CodeLists {
    toml::from_str(include_str!("codes.toml")).unwrap_or_default()
}
