//! What the page's own style and script must not do, and that it looks like the other page.

use super::{SCRIPT, STYLE};
use crate::picture;

#[test]
fn style_and_script_stay_in_their_elements_and_ask_for_nothing() {
    for source in [STYLE, SCRIPT] {
        for ending in ["</script", "</style", "<!--", "\r"] {
            assert!(!source.contains(ending), "{ending} ends its element or changes its hash");
        }
    }
    let doors =
        ["innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "fetch("];
    for door in doors {
        assert!(!SCRIPT.contains(door), "{door}");
    }
    assert!(!STYLE.contains("url(") && !STYLE.contains("@import"));
}

#[test]
fn the_sheet_has_the_letters_of_the_printed_maps() {
    for (name, beside_body) in picture::type_scale() {
        let rule = format!("--{name}: {beside_body:.2}rem").replace(": 0.", ": .");
        assert!(STYLE.contains(&rule), "{rule}");
    }
}
