//! Which options a command takes: those that change something there.

use crate::support::catchwire;

/// An option that belongs elsewhere is refused before any file is looked for.
#[track_caller]
fn refused(typed: &[&str], belongs_to: &str) {
    let option = typed.iter().find(|word| word.starts_with("--")).expect("an option");
    let option = option.split('=').next().unwrap_or(option);
    let said = [&format!("error: `{option}`: `{}` has no such option", typed[0]), belongs_to];
    catchwire(typed.iter().copied()).refused(2, &said.map(|words| words as &str));
}

#[test]
fn an_option_without_an_effect_is_refused_with_the_commands_that_have_it() {
    refused(&["prune", "no.geojson", "--crew", "4"], "it belongs to check, thin, bundle");
    refused(&["prune", "no.geojson", "--vigor", "no.tif"], "thin, audit, season, bundle");
    refused(&["audit", "no.geojson", "--stake", "vines"], "it belongs to layout");
    refused(&["thin", "no.geojson", "--recount", "no.csv"], "it belongs to audit");
    refused(&["layout", "no.geojson", "--counts", "no.csv"], "thin");
    refused(&["thin", "no.geojson", "--stops=no.csv"], "it belongs to sample");
}

// Common options, and those of the plan that an audit makes anew, are taken everywhere: the file is
// looked for.
#[test]
fn an_option_that_does_no_harm_is_taken() {
    for typed in [
        ["check", "no.geojson", "--write=zones.csv"],
        ["check", "no.geojson", "--out=nowhere"],
        ["layout", "no.geojson", "--seed=3"],
        ["audit", "no.geojson", "--crew=4"],
    ] {
        let run = catchwire(typed);
        assert!(!run.stderr.contains("no such option"), "{}", run.stderr);
    }
}

#[test]
fn help_shows_what_has_an_effect() {
    let help = |command: &str| catchwire([command, "--help"]).done().stdout;
    let prune = help("prune");
    for there in ["--variogram", "--out", "--paper", "--bud-rule", "--row-spacing"] {
        assert!(prune.contains(there), "{there}");
    }
    for elsewhere in ["--stake", "--crew", "--pool", "--lang", "--vigor", "--seed"] {
        assert!(!prune.contains(elsewhere), "{elsewhere}");
    }
    assert!(!help("thin").contains("Staking out") && help("layout").contains("Staking out"));
    assert!(!help("layout").contains("Estimating"));
    // Its plan is made anew, so what shapes a plan is taken.
    let audit = help("audit");
    assert!(["--frost", "--whole-rows", "--pool", "--seed"].iter().all(|one| audit.contains(one)));
}

#[test]
fn a_refused_option_is_told_to_scripts_too() {
    let run = catchwire(["prune", "no.geojson", "--crew", "4", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    assert_eq!(told["exit_code"], 2);
    let unknown = catchwire(["prune", "no.geojson", "--cru", "4"]);
    unknown.refused(2, &["unexpected argument '--cru'"]);
}
