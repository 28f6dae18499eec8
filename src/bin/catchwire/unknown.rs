//! An option that the command does not have: which command has it.

use catchwire::names::likeness;
use clap::{
    Command, CommandFactory as _, Error,
    error::{ContextKind, ContextValue, ErrorKind},
};

use crate::args::Cli;

/// Options less alike than this are not meant.
const LEAST_LIKENESS: f64 = 0.7;

/// Adds to the message about an unknown option where it, or one much like it, is known.
pub(crate) fn with_its_command(mut error: Error) -> Error {
    let unknown = match (error.kind(), error.get(ContextKind::InvalidArg)) {
        (ErrorKind::UnknownArgument, Some(ContextValue::String(name))) => name.clone(),
        _ => return error,
    };
    let Some(name) = unknown.strip_prefix("--") else { return error };
    let program = Cli::command();
    let own = match error.get(ContextKind::SuggestedArg) {
        Some(ContextValue::String(own)) => likeness(name, own.trim_start_matches('-')),
        _ => LEAST_LIKENESS,
    };
    if let Some(tip) = exactly(&program, name).or_else(|| nearly(&program, name, own)) {
        error.remove(ContextKind::SuggestedArg);
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
    }
    error
}

/// The commands that have the option.
fn exactly(program: &Command, name: &str) -> Option<String> {
    let has = |command: &&Command| options(command).any(|option| option == name);
    let names = program.get_subcommands().filter(has).map(Command::get_name);
    let names: Vec<String> = names.map(|command| format!("`{command}`")).collect();
    (!names.is_empty()).then(|| format!("--{name} is an option of {}", names.join(", ")))
}

/// The option of any command that is most like it, if it is more so than another.
fn nearly(program: &Command, name: &str, other: f64) -> Option<String> {
    let all = program.get_subcommands().flat_map(|command| {
        options(command).map(move |option| (likeness(name, option), option, command.get_name()))
    });
    let (how, option, command) = all.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (how >= LEAST_LIKENESS && how > other)
        .then(|| format!("did you mean --{option}, an option of `{command}`?"))
}

fn options(command: &Command) -> impl Iterator<Item = &str> {
    command.get_arguments().filter_map(clap::Arg::get_long)
}
