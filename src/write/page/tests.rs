//! What the page's own style and script must not do, and that its policy names exactly them.

use super::{SCRIPT, STYLE, html::source_hash};
use crate::picture::{
    self,
    colours::{GROUND, INK, PAPER, RULE, SOFT_INK},
};

#[test]
fn style_and_script_stay_in_their_elements() {
    for source in [STYLE, SCRIPT] {
        for ending in ["</script", "</style", "<!--", "\r"] {
            assert!(!source.contains(ending), "{ending} ends its element or changes its hash");
        }
    }
}

#[test]
fn the_page_has_the_letters_and_the_ink_of_the_printed_maps() {
    for (name, beside_body) in picture::type_scale() {
        let rule = format!("--{name}: {beside_body:.2}rem");
        assert!(STYLE.contains(&rule.replace(": 0.", ": .")), "{rule}");
    }
    let inks =
        [("paper", PAPER), ("ink", INK), ("soft", SOFT_INK), ("rule", RULE), ("wash", GROUND)];
    for (name, colour) in inks {
        assert!(STYLE.contains(&format!("--{name}: {colour};")), "{name}: {colour}");
    }
}

#[test]
fn the_script_makes_no_markup_and_runs_no_text() {
    let doors = [
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
        "Function(",
        "setAttribute(\"on",
        "setAttribute(\"style",
        "fetch(",
        "XMLHttpRequest",
        "import(",
        "http:",
        "https:",
        "localStorage",
    ];
    for door in doors {
        assert!(!SCRIPT.contains(door), "{door}");
    }
    assert!(!STYLE.contains("url(") && !STYLE.contains("@import"));
}

#[test]
fn a_policy_names_style_and_script_by_what_they_are() {
    assert_ne!(source_hash(SCRIPT), source_hash(STYLE));
    assert_ne!(source_hash(SCRIPT), source_hash(&format!("{SCRIPT} ")));
}
