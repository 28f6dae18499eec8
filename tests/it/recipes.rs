//! `docs/recipes.md`: every recipe is run on the demo.

use std::{
    path::Path,
    process::{Command, Stdio},
};

use crate::support::{demo, skipped};

/// The recipes: language, text.
fn recipes() -> Vec<(String, String)> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/recipes.md");
    let text = std::fs::read_to_string(path).expect("the recipes");
    let parts: Vec<&str> = text.split("```").collect();
    let fenced = parts.iter().skip(1).step_by(2);
    let recipe = |part: &&str| {
        let (language, text) = part.split_once('\n').expect("a language");
        (language.to_owned(), text.to_owned())
    };
    fenced.map(recipe).collect()
}

/// True when a program, or a module of the system's Python, is on the machine.
fn is_here(program: &str, arguments: &[&str]) -> bool {
    let status =
        Command::new(program).args(arguments).stdout(Stdio::null()).stderr(Stdio::null()).status();
    status.is_ok_and(|status| status.success())
}

fn can_run(language: &str, text: &str) -> bool {
    match language {
        "sh" => is_here("ogrinfo", &["--version"]),
        "r" => is_here("Rscript", &["-e", "library(sf); library(terra)"]),
        _ if text.contains("osgeo") => is_here("/usr/bin/python3", &["-c", "import osgeo"]),
        _ => is_here("/usr/bin/python3", &["-c", "import sqlite3"]),
    }
}

#[test]
fn every_recipe_runs_on_the_demo_and_says_something() {
    let recipes = recipes();
    assert!(recipes.len() >= 9, "{} recipes", recipes.len());
    for (language, text) in recipes {
        if !can_run(&language, &text) {
            skipped(&format!("a recipe: its reader is not here\n{text}"));
            continue;
        }
        let (program, options) = match language.as_str() {
            "sh" => ("sh", ["-ec"]),
            "r" => ("Rscript", ["-e"]),
            _ => ("/usr/bin/python3", ["-c"]),
        };
        let output = Command::new(program)
            .args(options)
            .arg(&text)
            .current_dir(demo().join("3-thin/south-brae"))
            .output()
            .expect("the reader starts");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{text}\n{said}");
        assert!(output.stdout.len() > 3, "{text}\nsays nothing");
    }
}
