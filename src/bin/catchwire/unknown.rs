//! An option that no command has: which one of another command it may be.

use catchwire::names::likeness;
use clap::{
    Command, Error,
    error::{ContextKind, ContextValue, ErrorKind},
};

/// Options less alike than this are not meant.
const LEAST_LIKENESS: f64 = 0.7;

/// Adds to the message about an unknown option one of another command that is much like it.
pub(crate) fn with_its_like(program: &Command, mut error: Error) -> Error {
    let unknown = match (error.kind(), error.get(ContextKind::InvalidArg)) {
        (ErrorKind::UnknownArgument, Some(ContextValue::String(name))) => name.clone(),
        _ => return error,
    };
    let Some(name) = unknown.strip_prefix("--") else { return error };
    let own = match error.get(ContextKind::SuggestedArg) {
        Some(ContextValue::String(own)) => likeness(name, own.trim_start_matches('-')),
        _ => LEAST_LIKENESS,
    };
    if let Some(tip) = nearly(program, name, own) {
        error.remove(ContextKind::SuggestedArg);
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
    }
    error
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
    let shown = command.get_arguments().filter(|option| !option.is_hide_set());
    shown.filter_map(clap::Arg::get_long)
}
