//! Which option has an effect in which command. The others are not shown there, and refused with a
//! hint that says where they belong.

use catchwire::{
    error::Error,
    finding::{Finding, Place},
};
use clap::{
    ArgMatches, Command, CommandFactory as _, FromArgMatches as _,
    error::{ContextKind, ContextValue, ErrorKind},
    parser::ValueSource,
};

use crate::{args::Cli, report::Style, unknown::with_its_like};

/// Commands that print maps.
const MAPS: &[&str] = &["layout", "thin", "bundle", "audit", "season", "prune"];
/// Commands that put counts at their vines.
const COUNTED: &[&str] = &["check", "sample", "thin", "bundle", "audit", "season", "prune"];
/// Commands that estimate vines from them.
const ESTIMATED: &[&str] = &["check", "thin", "bundle", "audit", "season", "prune"];
/// Commands that draw zones on the estimate.
const ZONED: &[&str] = &["check", "thin", "bundle", "audit", "season"];
/// Commands that say when a crew would be through.
const CREWED: &[&str] = &["check", "thin", "bundle"];
/// Commands that write files.
const WRITING: &[&str] =
    &["layout", "bearings", "sample", "thin", "bundle", "audit", "season", "prune", "demo"];

/// Options that have an effect in some of the commands that know them only, by clap's id.
const WHERE: &[(&str, &[&str])] = &[
    ("counts", COUNTED),
    ("vigor", ZONED),
    ("order", &["layout"]),
    ("stake", &["layout"]),
    ("points_per_file", &["layout"]),
    ("crew", CREWED),
    ("hours_per_day", CREWED),
    ("last_frost", CREWED),
    ("frost", ESTIMATED),
    ("variogram", ESTIMATED),
    ("neighbours", ESTIMATED),
    ("no_count_noise", ESTIMATED),
    ("pool", ZONED),
    ("whole_rows", ZONED),
    ("seed", &["check", "sample", "thin", "bundle", "audit", "season"]),
    ("out", WRITING),
    ("force", WRITING),
    ("dry_run", WRITING),
    ("write", WRITING),
    ("paper", &["layout", "sample", "thin", "bundle", "audit", "season", "prune"]),
    ("up", MAPS),
    ("ink", &["thin", "bundle", "audit", "season", "prune"]),
    ("lang", &["thin", "bundle"]),
];

/// Options of every command: one without an effect is not shown, and does no harm.
const COMMON: [&str; 7] = ["out", "force", "dry_run", "write", "paper", "lang", "seed"];

/// Commands that are passed the same options as `thin`, whatever they need of them.
const LIKE_THIN: [&str; 2] = ["audit", "season"];

/// Commands without a plan, where `--date` is for a compass bearing and the age of vines.
const NO_PLAN: [&str; 3] = ["layout", "bearings", "sample"];

/// The command line as typed.
///
/// # Errors
/// A usage error where an option belongs to other commands, with how to tell it. Other faults of the
/// command line, and calls for help, are told by clap, which ends the program.
pub(crate) fn typed() -> Result<Cli, (Error, Style)> {
    let mut command = command();
    let matches = command.try_get_matches_from_mut(std::env::args_os());
    let matches = matches.map_err(|error| elsewhere(&command, error))?;
    if let Some((name, own)) = matches.subcommand()
        && let Some(id) = own.ids().map(clap::Id::as_str).find(|id| is_stranger(own, (name, id)))
    {
        let style = Style { json: own.get_flag("json"), quiet: own.get_flag("quiet") };
        return Err((refusal(&command, name, &id.replace('_', "-")), style));
    }
    Cli::from_arg_matches(&matches).map_err(|error| elsewhere(&command, error))
}

/// All commands, each showing the options that have an effect in it.
fn command() -> Command {
    Cli::command().mut_subcommands(|own| {
        let name = own.get_name().to_owned();
        let own = own.mut_args(|arg| {
            let hidden = !applies(&name, arg.get_id().as_str());
            arg.hide(hidden)
        });
        if !NO_PLAN.contains(&name.as_str()) {
            return own;
        }
        own.mut_arg("date", |arg| {
            arg.help("The day, for a compass bearing that is typed and the age of vines")
                .help_heading("Reading")
        })
    })
}

fn applies(command: &str, id: &str) -> bool {
    WHERE.iter().all(|(option, commands)| *option != id || commands.contains(&command))
}

/// True when an option was typed that does nothing in its command, and belongs elsewhere.
fn is_stranger(own: &ArgMatches, (command, id): (&str, &str)) -> bool {
    let taken = applies(command, id)
        || COMMON.contains(&id)
        || (LIKE_THIN.contains(&command) && applies("thin", id));
    own.value_source(id) == Some(ValueSource::CommandLine) && !taken
}

/// What clap refused: an option of other commands is said to be one, everything else clap tells.
fn elsewhere(command: &Command, error: clap::Error) -> (Error, Style) {
    stranger(command, &error).unwrap_or_else(|| with_its_like(command, error).exit())
}

/// The refusal of an option that other commands have.
fn stranger(command: &Command, error: &clap::Error) -> Option<(Error, Style)> {
    let Some(ContextValue::String(typed)) = error.get(ContextKind::InvalidArg) else { return None };
    let option = typed.trim_start_matches('-').split('=').next()?;
    let name = std::env::args().find(|word| command.find_subcommand(word).is_some())?;
    let known = !owners(command, option).is_empty();
    let style = Style { json: false, quiet: false };
    (known && error.kind() == ErrorKind::UnknownArgument)
        .then(|| (refusal(command, &name, option), style))
}

/// The commands that show an option.
fn owners<'a>(command: &'a Command, option: &str) -> Vec<&'a str> {
    let shows = |own: &&Command| {
        own.get_arguments().any(|arg| arg.get_long() == Some(option) && !arg.is_hide_set())
    };
    command.get_subcommands().filter(shows).map(Command::get_name).collect()
}

fn refusal(command: &Command, name: &str, option: &str) -> Error {
    let owners = owners(command, option).join(", ");
    let finding =
        Finding::fault(Place::field(format!("--{option}")), format!("`{name}` has no such option"))
            .because("it would change nothing there")
            .mend(format!("leave it out; it belongs to {owners}"));
    Error::Usage(finding)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_option_of_the_table_exists_and_is_one_of_its_commands() {
        let all = command();
        for (id, commands) in WHERE {
            for name in *commands {
                let own = all.find_subcommand(name).unwrap_or_else(|| panic!("no `{name}`"));
                let known = own.get_arguments().any(|arg| arg.get_id() == id);
                assert!(known || *name == "demo", "`{name}` has no `{id}`");
            }
        }
        all.debug_assert();
    }

    #[test]
    fn a_command_shows_what_has_an_effect_in_it() {
        let all = command();
        assert_eq!(owners(&all, "order"), ["layout"]);
        assert_eq!(owners(&all, "crew"), ["check", "thin", "bundle"]);
        assert_eq!(owners(&all, "recount"), ["audit"]);
        assert!(!owners(&all, "out").contains(&"check"));
        assert!(owners(&all, "paper").contains(&"prune"));
    }
}
