//! The paths that a Rust source names, without a parser: words and marks are enough for that.

/// All paths of a text, from the crate's root on where they are of this crate (`super` and `self` resolved, groups
/// spread out, macros with their mark), each with its line.
pub fn paths(text: &str, module: &[&str]) -> Vec<(usize, Vec<String>)> {
    let tokens = tokens(text);
    let is = |i: usize, what: &str| tokens.get(i).is_some_and(|(_, token)| token == what);
    let mut here: Vec<String> = ["crate"].iter().chain(module).map(|name| (*name).to_owned()).collect();
    // Of every open brace, whether it opened a module.
    let mut open = Vec::new();
    let (mut i, mut all) = (0, Vec::new());
    while i < tokens.len() {
        let mut found = Vec::new();
        if is(i, "mod") && is(i + 2, "{") {
            here.push(tokens[i + 1].1.clone());
            open.push(true);
            i += 3;
        } else if is(i, "{") || is(i, "}") {
            if is(i, "{") {
                open.push(false);
            } else if open.pop() == Some(true) {
                here.pop();
            }
            i += 1;
        } else {
            i = path(&tokens, i, Vec::new(), &mut found);
        }
        all.extend(found.into_iter().map(|(line, path)| (line, resolved(&here, path))));
    }
    all
}

fn resolved(here: &[String], path: Vec<String>) -> Vec<String> {
    if !matches!(path[0].as_str(), "self" | "super") {
        return path;
    }
    let mut whole = here.to_vec();
    for name in path {
        match name.as_str() {
            "self" => {}
            "super" if whole.len() > 1 => {
                whole.pop();
            }
            _ => whole.push(name),
        }
    }
    whole
}

/// Reads the path at a token, each branch of its groups as a path of its own, and tells where it ends.
fn path(
    tokens: &[(usize, String)],
    mut i: usize,
    mut names: Vec<String>,
    found: &mut Vec<(usize, Vec<String>)>,
) -> usize {
    let is = |i: usize, what: &str| tokens.get(i).is_some_and(|(_, token)| token == what);
    while let Some((line, name)) = tokens.get(i) {
        if name == "{" && !names.is_empty() {
            i += 1;
            while i < tokens.len() && !is(i, "}") {
                i = if is(i, ",") { i + 1 } else { path(tokens, i, names.clone(), found) };
            }
            return i + 1;
        }
        i += 1;
        let is_macro = is(i, "!") && !is(i + 1, "=");
        names.push(if is_macro { format!("{name}!") } else { name.clone() });
        if !is(i, "::") {
            found.push((*line, names));
            return i;
        }
        i += 1;
    }
    i
}

/// Words, `::` and single marks, each with its line. Comments are passed over; so are texts in quotes, but for those
/// that hold a path (serde takes paths in quotes).
fn tokens(text: &str) -> Vec<(usize, String)> {
    let (mut rest, mut line, mut found) = (text, 1, Vec::new());
    while let Some(first) = rest.chars().next() {
        let up_to = |mark: &str, from: usize| rest[from..].find(mark).map_or(rest.len(), |at| from + at + mark.len());
        let hashes =
            rest.trim_start_matches('b').strip_prefix('r').map(|raw| raw.len() - raw.trim_start_matches('#').len());
        let raw = hashes.map(|hashes| (rest.find('r').unwrap_or(0) + 1 + hashes, hashes));
        let length = match first {
            '/' if rest.starts_with("//") => up_to("\n", 0),
            '/' if rest.starts_with("/*") => up_to("*/", 2),
            'r' | 'b' if raw.is_some_and(|(at, _)| rest[at..].starts_with('"')) => {
                let (at, hashes) = raw.unwrap_or_default();
                up_to(&format!("\"{}", "#".repeat(hashes)), at + 1)
            }
            '"' => {
                let mut escaped = false;
                let end = rest[1..].find(|c| {
                    let ends = c == '"' && !escaped;
                    escaped = c == '\\' && !escaped;
                    ends
                });
                let length = end.map_or(rest.len(), |end| end + 2);
                if rest[..length].contains("::") {
                    let inner = tokens(rest[1..length].trim_end_matches('"'));
                    found.extend(inner.into_iter().map(|(below, token)| (line + below - 1, token)));
                }
                length
            }
            // A character; otherwise the mark of a lifetime.
            '\'' if rest.starts_with("'\\") => up_to("'", 3),
            '\'' if rest.chars().nth(2) == Some('\'') => rest.char_indices().nth(3).map_or(rest.len(), |(at, _)| at),
            _ if first.is_whitespace() => first.len_utf8(),
            _ => {
                let word = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
                let length = if rest.starts_with("::") { 2 } else { word.max(first.len_utf8()) };
                found.push((line, rest[..length].to_owned()));
                length
            }
        };
        line += rest[..length].matches('\n').count();
        rest = &rest[length..];
    }
    found
}
