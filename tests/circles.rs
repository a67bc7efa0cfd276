//! No file of `src` imports another in a circle: whoever reads one need only go down.
//!
//! A file imports another when it names something that stands there, in a `use` or by a path,
//! also where a third file hands the name on (`pub use`). What macros are given is not read.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use syn::visit::{Visit, visit_path};
use syn::{ItemUse, UseTree, Visibility};

/// A module, or something in one: `["charts", "axis"]` for `charts/axis.rs`, `["charts"]` for
/// `charts/mod.rs`.
type Place = Vec<String>;

/// What one file names.
#[derive(Default)]
struct Names {
    /// Paths as they are written, without those of `use`.
    paths: Vec<Vec<String>>,
    /// Each name that a `use` gives, the path it stands for, and whether it is handed on.
    used: Vec<(String, Vec<String>, bool)>,
}

impl Names {
    fn add(&mut self, tree: &UseTree, before: &[String], handed_on: bool) {
        let with = |name: &syn::Ident| [before, &[name.to_string()]].concat();
        match tree {
            UseTree::Path(path) => self.add(&path.tree, &with(&path.ident), handed_on),
            UseTree::Group(group) => {
                for tree in &group.items {
                    self.add(tree, before, handed_on);
                }
            }
            UseTree::Name(name) if name.ident == "self" => {
                self.used
                    .push((before.last().unwrap().clone(), before.to_vec(), handed_on));
            }
            UseTree::Name(name) => self.used.push((name.ident.to_string(), with(&name.ident), handed_on)),
            UseTree::Rename(renamed) => {
                self.used
                    .push((renamed.rename.to_string(), with(&renamed.ident), handed_on));
            }
            UseTree::Glob(_) => self.used.push(("*".to_owned(), before.to_vec(), handed_on)),
        }
    }
}

impl<'a> Visit<'a> for Names {
    fn visit_item_use(&mut self, item: &'a ItemUse) {
        let handed_on = !matches!(item.vis, Visibility::Inherited);
        self.add(&item.tree, &[], handed_on);
    }

    fn visit_path(&mut self, path: &'a syn::Path) {
        if path.segments.len() > 1 {
            let parts = path.segments.iter().map(|part| part.ident.to_string());
            self.paths.push(parts.collect());
        }
        visit_path(self, path);
    }
}

/// The files of `src` but for `lib.rs` and `main.rs`, which name all.
fn read(folder: &Path, place: &[String], house: &mut BTreeMap<Place, Names>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let own = match stem.as_str() {
            "mod" => place.to_vec(),
            _ => [place, std::slice::from_ref(&stem)].concat(),
        };
        if path.is_dir() {
            read(&path, &own, house);
        } else if path.extension().is_some_and(|e| e == "rs") && !["lib", "main"].contains(&stem.as_str()) {
            let mut names = Names::default();
            names.visit_file(&syn::parse_file(&fs::read_to_string(&path).unwrap()).unwrap());
            house.insert(own, names);
        }
    }
}

/// What a path in the file at `place` stands for, from the root; `None` outside this house.
fn from_root(house: &BTreeMap<Place, Names>, place: &[String], path: &[String]) -> Option<Place> {
    let (first, rest) = path.split_first()?;
    let mut base = place.to_vec();
    match first.as_str() {
        "crate" => base.clear(),
        "self" => {}
        "super" => {
            base.pop();
            let more = rest.iter().take_while(|part| *part == "super").count();
            base.truncate(base.len().checked_sub(more)?);
            return Some([base.as_slice(), &rest[more..]].concat());
        }
        name => {
            let used = house[place].used.iter().find(|(used, _, _)| used == name);
            match used.filter(|(_, path, _)| path[0] != name) {
                Some((_, path, _)) => base = from_root(house, place, path)?,
                None => {
                    base.push(name.to_owned());
                    house.keys().find(|known| known.starts_with(&base))?;
                }
            }
        }
    }
    Some([base.as_slice(), rest].concat())
}

/// The file in which something stands, whoever hands it on.
fn file_of(house: &BTreeMap<Place, Names>, path: &[String], steps: u32) -> Option<Place> {
    let place = (0..=path.len())
        .rev()
        .map(|n| &path[..n])
        .find(|place| house.contains_key(*place))?;
    let name = path.get(place.len());
    let handed_on = |(used, _, handed_on): &&(String, Vec<String>, bool)| *handed_on && Some(used) == name;
    let Some((_, written, _)) = house[place].used.iter().find(handed_on).filter(|_| steps < 9) else {
        return Some(place.to_vec());
    };
    let full = [&from_root(house, place, written)?, &path[place.len() + 1..]].concat();
    file_of(house, &full, steps + 1)
}

/// Whom each file imports.
fn imports(house: &BTreeMap<Place, Names>) -> BTreeMap<Place, BTreeSet<Place>> {
    let of = |place: &Place, names: &Names| {
        let used = names.used.iter().filter(|(_, _, handed_on)| !handed_on);
        let used = used.map(|(_, path, _)| path);
        let found = used
            .chain(&names.paths)
            .filter_map(|path| from_root(house, place, path))
            // A module that is named and not entered hands nothing over.
            .filter(|full| !house.contains_key(full))
            .filter_map(|full| file_of(house, &full, 0));
        found.filter(|file| file != place).collect()
    };
    house
        .iter()
        .map(|(place, names)| (place.clone(), of(place, names)))
        .collect()
}

/// The imports that lie in a circle: who is imported comes back to who imports.
fn circles(imports: &BTreeMap<Place, BTreeSet<Place>>) -> Vec<String> {
    let mut found = Vec::new();
    for (from, of) in imports {
        for to in of {
            let mut seen = BTreeSet::from([to]);
            let mut next = vec![to];
            while let Some(place) = next.pop() {
                next.extend(
                    imports
                        .get(place)
                        .into_iter()
                        .flatten()
                        .filter(|file| seen.insert(file)),
                );
            }
            if seen.contains(from) {
                found.push(format!("{} -> {}", from.join("/"), to.join("/")));
            }
        }
    }
    found
}

fn names(pairs: &[(&str, &str)]) -> BTreeMap<Place, Names> {
    let of = |(place, text): &(&str, &str)| {
        let mut names = Names::default();
        names.visit_file(&syn::parse_file(text).unwrap());
        let place = place.split('/').filter(|part| !part.is_empty()).map(str::to_owned);
        (place.collect(), names)
    };
    pairs.iter().map(of).collect()
}

#[test]
fn no_file_imports_another_in_a_circle() {
    let mut house = BTreeMap::new();
    read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &[], &mut house);
    let imports = imports(&house);
    // What is known to hold, so that a reading that finds nothing does not pass.
    let file = |path: &str| path.split('/').map(str::to_owned).collect::<Place>();
    assert!(imports[&file("pages/dashboard")].contains(&file("pages/findings")));
    assert_eq!(circles(&imports), Vec::<String>::new());
}

/// A circle through a name that is handed on, and one through a path.
#[test]
fn circles_are_found() {
    let straight = [
        ("a", "pub use self::b::B;"),
        ("a/b", "pub struct B;"),
        ("c", "use crate::a::B;"),
    ];
    assert!(circles(&imports(&names(&straight))).is_empty());
    let found = |texts: &[(&str, &str)]| circles(&imports(&names(texts))).len();
    assert_eq!(
        found(&[straight[0], ("a/b", "use crate::c::C;"), ("c", "use crate::a::B;")]),
        2
    );
    assert_eq!(found(&[("a", "fn f() { b::g() }"), ("a/b", "use super::f;")]), 2);
    assert_eq!(
        found(&[
            ("a", "use crate::{b as d}; fn f() { d::g() }"),
            ("b", "fn g() { super::a::f() }")
        ]),
        2
    );
}
