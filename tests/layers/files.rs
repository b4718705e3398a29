//! Files, the arrows between them, and the circles in which arrows run.
//!
//! An arrow leads from a file to the one that has what it names, also where a third passes that on. What a module says in
//! its own file is common to all below it: no arrow leads from a file to one that it stands below.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::paths::{Names, names};
use super::story::CHAPTERS;

/// A source file.
#[derive(Debug)]
pub struct SourceFile {
    /// Its name, as seen from the workspace.
    pub file: String,
    /// What stands in it.
    pub text: String,
    /// The folder of its crate's sources.
    home: String,
    /// Its module, from the crate's root on.
    module: Vec<String>,
}

impl SourceFile {
    /// A file of the crate with sources in a folder.
    pub fn new(home: &str, inside: &str, text: &str) -> Self {
        let module = inside.trim_end_matches(".rs");
        let module = if matches!(module, "lib" | "main") { "" } else { module };
        Self {
            file: format!("{home}/{inside}"),
            text: text.to_owned(),
            home: home.to_owned(),
            module: module.split('/').filter(|name| !name.is_empty()).map(str::to_owned).collect(),
        }
    }

    /// The folder in which it lies.
    pub fn folder(&self) -> &str {
        self.file.rsplit_once('/').map_or("", |(folder, _)| folder)
    }
}

/// Every source of every chapter.
pub fn sources(root: &Path) -> Vec<SourceFile> {
    let mut all = Vec::new();
    for chapter in CHAPTERS {
        let home = format!("{chapter}/src");
        collect(root, &home, "", &mut all);
    }
    all
}

fn collect(root: &Path, home: &str, below: &str, all: &mut Vec<SourceFile>) {
    let folder = root.join(home).join(below);
    let entries = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().expect("a name").to_string_lossy();
        let inside = if below.is_empty() { name.to_string() } else { format!("{below}/{name}") };
        if path.is_dir() {
            collect(root, home, &inside, all);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            all.push(SourceFile::new(home, &inside, &std::fs::read_to_string(&path).expect("text")));
        }
    }
}

/// The folders below the crates' roots.
pub fn folders(all: &[SourceFile]) -> BTreeSet<&str> {
    all.iter().filter(|source| source.folder() != source.home).map(SourceFile::folder).collect()
}

/// An arrow: from a file to another, by a name.
pub type Arrow = (String, String, String);

/// The arrows between files.
pub fn arrows(all: &[SourceFile]) -> Vec<Arrow> {
    let mut found = Vec::new();
    let homes: BTreeSet<&str> = all.iter().map(|source| source.home.as_str()).collect();
    for home in homes {
        let crate_files: BTreeMap<&[String], (&SourceFile, Names)> = all
            .iter()
            .filter(|source| source.home == home)
            .map(|source| (source.module.as_slice(), (source, names(&source.text))))
            .collect();
        for (source, named) in crate_files.values() {
            for path in &named.paths {
                let mut here = source.module.clone();
                here.extend(path.within.iter().cloned());
                let Some(whole) = resolved(&here, &path.names, &crate_files) else { continue };
                let Some(to) = owner(&whole, &crate_files, 0) else { continue };
                if !source.module.starts_with(&to.module) {
                    found.push((source.file.clone(), to.file.clone(), path.names.join("::")));
                }
            }
        }
    }
    found.sort();
    found.dedup();
    found
}

/// The path from the crate's root on; `None`: it leads out of the crate.
fn resolved(
    here: &[String],
    names: &[String],
    files: &BTreeMap<&[String], (&SourceFile, Names)>,
) -> Option<Vec<String>> {
    let mut whole = match names[0].as_str() {
        "crate" => Vec::new(),
        "self" | "super" => here.to_vec(),
        child => {
            // A module of the file in which it stands, or nothing of ours.
            let mut below = here.to_vec();
            below.push(child.to_owned());
            return files.contains_key(below.as_slice()).then(|| [&below[..], &names[1..]].concat());
        }
    };
    for name in names {
        match name.as_str() {
            "crate" | "self" => {}
            "super" => {
                whole.pop()?;
            }
            _ => whole.push(name.clone()),
        }
    }
    Some(whole)
}

/// The file that has what a path from the root leads to, followed through those that pass it on.
fn owner<'s>(
    path: &[String],
    files: &BTreeMap<&[String], (&'s SourceFile, Names)>,
    depth: usize,
) -> Option<&'s SourceFile> {
    let deepest = (0..=path.len()).rev().find(|end| files.contains_key(&path[..*end]))?;
    let (source, names) = &files[&path[..deepest]];
    let passed = path.get(deepest).and_then(|name| names.passed_on.iter().find(|(passed, _)| passed == name));
    let further = passed.filter(|_| depth < 8).and_then(|(_, by)| {
        let whole = resolved(&source.module, by, files)?;
        owner(&whole, files, depth + 1)
    });
    Some(further.unwrap_or(source))
}

/// The circles, a line each with the arrows that make it.
pub fn circles(arrows: &[Arrow]) -> Vec<String> {
    let mut next: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (from, to, _) in arrows {
        next.entry(from).or_default().insert(to);
    }
    let reach = |from: &str| {
        let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
        while let Some(file) = open.pop() {
            for to in next.get(file).into_iter().flatten() {
                if seen.insert(*to) {
                    open.push(to);
                }
            }
        }
        seen
    };
    let reached: BTreeMap<&str, BTreeSet<&str>> = next.keys().map(|file| (*file, reach(file))).collect();
    let back = |a: &str, b: &str| reached[a].contains(b) && reached.get(b).is_some_and(|from| from.contains(a));
    let mut told = BTreeSet::new();
    let mut found = Vec::new();
    for file in next.keys().filter(|file| back(file, file)) {
        if told.contains(file) {
            continue;
        }
        let circle: BTreeSet<&str> = next.keys().filter(|other| back(file, other)).copied().collect();
        let within = arrows.iter().filter(|(from, to, _)| circle.contains(&**from) && circle.contains(&**to));
        let by: Vec<String> = within.map(|(from, to, name)| format!("    {from} -> {to} by {name}")).collect();
        found.push(format!("{} files use each other in a circle:\n{}", circle.len(), by.join("\n")));
        told.extend(circle);
    }
    found
}

#[cfg(test)]
fn forged(files: &[(&str, &str)]) -> Vec<String> {
    let all: Vec<SourceFile> = files.iter().map(|(inside, text)| SourceFile::new("x/src", inside, text)).collect();
    circles(&arrows(&all))
}

#[test]
fn circle_of_files_is_found_also_through_one_that_passes_on() {
    let root = ("lib.rs", "mod a;\nmod b;\npub use b::two;\npub struct Common;");
    let straight = [root, ("a.rs", "use crate::two;"), ("b.rs", "use super::Common;\npub fn two() {}")];
    assert_eq!(forged(&straight), [""; 0]);
    let round = [root, ("a.rs", "use crate::two;\npub fn one() {}"), ("b.rs", "pub fn two() { super::a::one() }")];
    let found = forged(&round);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("x/src/a.rs -> x/src/b.rs by crate::two"), "{found:?}");
    assert!(found[0].contains("x/src/b.rs -> x/src/a.rs by super::a::one"), "{found:?}");
    let by_a_third = [
        ("lib.rs", "mod a;\nmod b;\nmod c;"),
        ("a.rs", "use crate::b::B;"),
        ("b.rs", "fn f() { vec![crate::c::C] }"),
        ("c.rs", "mod tests { use super::super::a::A; }"),
    ];
    assert_eq!(forged(&by_a_third).len(), 1);
}
