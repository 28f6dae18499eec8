//! Holds the rule of `docs/architecture.md`: a module imports only from rows above its own.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// The flow, top to bottom. Modules in one row do not know each other.
const FLOW: &[&[&str]] = &[
    &["units"],
    &["names", "finding", "maths"],
    &["error"],
    &["geodesy"],
    &["block", "counts"],
    &["settings"],
    &["read"],
    &["frame"],
    &["layout"],
    &["sample", "join"],
    &["estimate"],
    &["zones"],
    &["plan"],
    &["picture"],
    &["write"],
    &["jobs"],
];

#[test]
fn no_module_imports_what_comes_later() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut imports = 0;
    let mut faults = Vec::new();
    for file in rust_files(&src) {
        let relative = file.strip_prefix(&src).expect("a file under src").to_owned();
        let module = top_module(&relative);
        if module == "lib" || module == "bin" {
            continue;
        }
        let text = fs::read_to_string(&file).expect("readable source");
        if text.contains("super::super") {
            faults.push(format!("src/{}: `super::super` hides a direction", relative.display()));
        }
        for (line, imported) in crate_imports(&text) {
            imports += 1;
            if let Some(fault) = fault(&module, &imported) {
                faults.push(format!("src/{}:{line}: {fault}", relative.display()));
            }
        }
    }
    assert!(imports > 0, "the scan saw no import at all, so it proves nothing");
    assert!(faults.is_empty(), "\n{}\n", faults.join("\n"));
}

/// Why `module` may not import `imported`, if so.
fn fault(module: &str, imported: &str) -> Option<String> {
    let row = |name| FLOW.iter().position(|row| row.contains(&name));
    match (row(module), row(imported)) {
        _ if module == imported => None,
        (None, _) => Some(format!("`{module}` has no row in FLOW")),
        (_, None) => Some(format!("`crate::{imported}` is no module of FLOW; write the full path")),
        (Some(own), Some(other)) if other >= own => {
            Some(format!("`{module}` imports `{imported}`, which does not come before it"))
        }
        _ => None,
    }
}

/// The first path segment after every `crate::`, groups included, with its line.
fn crate_imports(text: &str) -> Vec<(usize, String)> {
    let code: Vec<&str> = text.lines().map(|l| l.split("//").next().unwrap_or("")).collect();
    let code = code.join("\n");
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let line = 1 + code[..at].matches('\n').count();
        let rest = &code[at + "crate::".len()..];
        found.extend(heads(rest).into_iter().map(|head| (line, head)));
    }
    found
}

/// `a::b` gives `a`; `{a::{b, c}, d}` gives `a` and `d`.
fn heads(path: &str) -> Vec<String> {
    let head =
        |s: &str| s.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    let Some(group) = path.strip_prefix('{') else {
        return vec![head(path)];
    };
    let mut depth = 1;
    let mut start = 0;
    let mut parts = Vec::new();
    for (at, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 || (c == ',' && depth == 1) {
            parts.push(head(&group[start..at]));
            start = at + 1;
        }
        if depth == 0 {
            break;
        }
    }
    parts.retain(|part: &String| !part.is_empty());
    parts
}

/// `layout/scan.rs` and `layout.rs` both belong to `layout`.
fn top_module(relative: &Path) -> String {
    let first = relative.components().next().expect("a non-empty path");
    first.as_os_str().to_string_lossy().trim_end_matches(".rs").to_owned()
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("a readable folder") {
        let path = entry.expect("a readable entry").path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}
