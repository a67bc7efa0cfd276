//! What a reference points at, and the compact key under which that is remembered.

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::parts::{Reference, text};

/// A resource: a 128-bit hash of its type and id, the same in every version of siskin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Key([u64; 2]);

impl Key {
    /// FNV-1a with the 128-bit parameters (draft-eastlake-fnv), over `type/id`.
    pub(super) fn of(kind: &str, id: &str) -> Self {
        const OFFSET: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
        const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
        let bytes = kind.bytes().chain(std::iter::once(b'/')).chain(id.bytes());
        let hash = bytes.fold(OFFSET, |hash, byte| (hash ^ u128::from(byte)).wrapping_mul(PRIME));
        Self::from(hash)
    }

    /// As [`Key::of`]; none for a resource without an id, which nothing can mean.
    pub(super) fn of_resource(kind: &str, id: &str) -> Option<Self> {
        (!id.is_empty()).then(|| Self::of(kind, id))
    }

    /// As 32 hexadecimal digits.
    pub(super) fn written(self) -> String {
        let [high, low] = self.0;
        format!("{high:016x}{low:016x}")
    }

    /// Reads [`Key::written`].
    pub(super) fn read(written: &str) -> Option<Self> {
        u128::from_str_radix(written, 16).ok().map(Self::from)
    }
}

impl From<u128> for Key {
    fn from(hash: u128) -> Self {
        Self([(hash >> 64) as u64, hash as u64])
    }
}

impl Serialize for Key {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.written())
    }
}

impl<'de> Deserialize<'de> for Key {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let written = String::deserialize(from)?;
        Self::read(&written).ok_or_else(|| D::Error::custom("no key"))
    }
}

/// What a reference points at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Target<'a> {
    /// A resource inside the same one.
    Inside(&'a str),
    /// A resource of that type and id.
    Resource(&'a str, &'a str),
    /// Nothing: there is no `reference`.
    Nothing,
}

/// Reads `Patient/1`, an address that ends so (of whatever version), `urn:uuid:1` and `#1`.
/// A reference that names no type is taken to be of `expected`.
pub(super) fn target<'r>(reference: &'r Reference<'_>, expected: &'r str) -> Target<'r> {
    let stated = text(&reference.kind);
    let kind = if stated.is_empty() { expected } else { stated };
    target_of(text(&reference.reference), kind)
}

/// As [`target`], for the text alone.
pub(super) fn target_of<'r>(said: &'r str, expected: &'r str) -> Target<'r> {
    if said.is_empty() {
        return Target::Nothing;
    }
    if let Some(id) = said.strip_prefix('#') {
        return Target::Inside(id);
    }
    if let Some(id) = said.strip_prefix("urn:uuid:").or_else(|| said.strip_prefix("urn:oid:")) {
        return Target::Resource(expected, id);
    }
    let unversioned = said.split_once("/_history/").map_or(said, |(before, _)| before);
    match unversioned.rsplit_once('/') {
        Some((before, id)) => {
            let kind = before.rsplit_once('/').map_or(before, |(_, kind)| kind);
            Target::Resource(kind, id)
        }
        None => Target::Resource(expected, unversioned),
    }
}

/// The key of a reference to a resource of the export.
pub(super) fn key_of(reference: Option<&Reference<'_>>, expected: &str) -> Option<Key> {
    match target(reference?, expected) {
        Target::Resource(kind, id) => Key::of_resource(kind, id),
        Target::Inside(_) | Target::Nothing => None,
    }
}
