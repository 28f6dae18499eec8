//! Every number that people may ask about, with its unit and source.

use crate::{prune::published_rules, settings::Settings};

/// The settings as a file to edit, and behind them, as remarks, the published rules that are used by
/// their names.
pub fn settings_text(settings: &Settings) -> String {
    let rules: Vec<String> = published_rules().iter().map(|rule| format!("# {rule}\n")).collect();
    format!(
        "{}\n# Published rules, which are used by their names and stay as they are printed:\n{}",
        settings.to_text(),
        rules.concat()
    )
}
