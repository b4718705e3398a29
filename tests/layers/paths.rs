//! The paths that a Rust source names, as its syntax tree has them.

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};
use syn::{ItemMod, ItemUse, Macro, UseTree, Visibility};

/// A path, as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenPath {
    /// Its names from the first on; those of a `use` with its group spread out.
    pub names: Vec<String>,
    /// Inline modules in which it stands.
    pub within: Vec<String>,
    /// Its line.
    pub line: usize,
}

/// What a source names.
#[derive(Debug, Default)]
pub struct Names {
    /// Every path.
    pub paths: Vec<WrittenPath>,
    /// The files that are its modules.
    pub children: Vec<String>,
    /// What it passes on from others: the name, and the path it is found by.
    pub passed_on: Vec<(String, Vec<String>)>,
}

/// Reads a source.
pub fn names(text: &str) -> Names {
    let mut reader = PathReader::default();
    reader.visit_file(&syn::parse_file(text).expect("a Rust source"));
    reader.found
}

#[derive(Default)]
struct PathReader {
    found: Names,
    within: Vec<String>,
}

impl PathReader {
    fn say(&mut self, names: Vec<String>, line: usize) {
        self.found.paths.push(WrittenPath { names, within: self.within.clone(), line });
    }

    fn tokens(&mut self, tokens: TokenStream) {
        let all: Vec<TokenTree> = tokens.into_iter().collect();
        let mut at = 0;
        while at < all.len() {
            match &all[at] {
                TokenTree::Group(group) => self.tokens(group.stream()),
                TokenTree::Ident(first) => {
                    let (mut names, line) = (vec![first.to_string()], first.span().start().line);
                    while let [TokenTree::Punct(a), TokenTree::Punct(b), TokenTree::Ident(next), ..] = &all[at + 1..] {
                        if a.as_char() != ':' || b.as_char() != ':' {
                            break;
                        }
                        names.push(next.to_string());
                        at += 3;
                    }
                    self.say(names, line);
                }
                TokenTree::Punct(_) | TokenTree::Literal(_) => {}
            }
            at += 1;
        }
    }
}

impl<'ast> Visit<'ast> for PathReader {
    fn visit_item_mod(&mut self, item: &'ast ItemMod) {
        if item.content.is_none() {
            self.found.children.push(item.ident.to_string());
            return;
        }
        self.within.push(item.ident.to_string());
        visit::visit_item_mod(self, item);
        self.within.pop();
    }

    fn visit_item_use(&mut self, item: &'ast ItemUse) {
        let line = item.use_token.span.start().line;
        let mut leaves = Vec::new();
        spread(&item.tree, &mut Vec::new(), &mut leaves);
        for (name, path) in leaves {
            if !matches!(item.vis, Visibility::Inherited) && self.within.is_empty() {
                self.found.passed_on.push((name, path.clone()));
            }
            self.say(path, line);
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names = path.segments.iter().map(|segment| segment.ident.to_string()).collect();
        let line = path.segments.first().map_or(0, |first| first.ident.span().start().line);
        self.say(names, line);
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, item: &'ast Macro) {
        let mut name: Vec<String> = item.path.segments.iter().map(|segment| segment.ident.to_string()).collect();
        if let Some(last) = name.last_mut() {
            last.push('!');
        }
        let line = item.path.segments.first().map_or(0, |first| first.ident.span().start().line);
        self.say(name, line);
        self.tokens(item.tokens.clone());
    }
}

/// The leaves of a `use`: the name by which each is known, and its path.
fn spread(tree: &UseTree, above: &mut Vec<String>, leaves: &mut Vec<(String, Vec<String>)>) {
    let path = |above: &[String], name: &str| {
        let mut path = above.to_vec();
        // `{self}` is the module itself.
        if name != "self" || path.is_empty() {
            path.push(name.to_owned());
        }
        path
    };
    match tree {
        UseTree::Path(deeper) => {
            above.push(deeper.ident.to_string());
            spread(&deeper.tree, above, leaves);
            above.pop();
        }
        UseTree::Name(leaf) => {
            let path = path(above, &leaf.ident.to_string());
            leaves.push((path.last().expect("a name").clone(), path));
        }
        UseTree::Rename(leaf) => leaves.push((leaf.rename.to_string(), path(above, &leaf.ident.to_string()))),
        UseTree::Glob(_) => leaves.push(("*".to_owned(), path(above, "*"))),
        UseTree::Group(group) => group.items.iter().for_each(|item| spread(item, above, leaves)),
    }
}

#[test]
fn paths_are_read_wherever_they_stand() {
    let text = "mod a;\npub use a::B as C;\nuse std::{fs, io::{self, Write}};\nmod t { use super::*; }\n\
                fn f() -> x::Y { println!(\"{}\", crate::z::w(1)) }";
    let found = names(text);
    let has =
        |names: &str, line: usize| found.paths.iter().any(|path| path.names.join("::") == names && path.line == line);
    for (path, line) in [
        ("a::B", 2),
        ("std::fs", 3),
        ("std::io", 3),
        ("std::io::Write", 3),
        ("super::*", 4),
        ("x::Y", 5),
        ("println!", 5),
        ("crate::z::w", 5),
    ] {
        assert!(has(path, line), "{path} in {:?}", found.paths);
    }
    assert_eq!(found.children, ["a"]);
    assert_eq!(found.passed_on, [("C".to_owned(), vec!["a".to_owned(), "B".to_owned()])]);
}
