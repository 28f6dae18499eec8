//! Every key of a block as an option that overrules it: `row_spacing` is `--row-spacing`.

use catchwire::{
    block::BlockKeys,
    finding::Findings,
    read::{KEYS, key_from_text},
};
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches};

/// The keys typed, as text: the library reads them through the same door as those of a file.
#[derive(Debug, Clone, Default)]
pub(crate) struct KeyOptions {
    typed: Vec<(&'static str, String)>,
}

impl KeyOptions {
    /// The keys with their values.
    pub(crate) fn read(&self) -> Result<BlockKeys, Findings> {
        let mut keys = BlockKeys::default();
        let mut findings = Findings::none();
        for (key, text) in &self.typed {
            if let Err(mut finding) = key_from_text(key, text, &mut keys) {
                finding.place.field = Some(format!("--{}", option(key)));
                findings.push(finding);
            }
        }
        if findings.any_fault() { Err(findings) } else { Ok(keys) }
    }

    /// The options as typed, for the run record.
    pub(crate) fn typed(&self) -> impl Iterator<Item = (String, String)> + '_ {
        self.typed.iter().map(|(key, text)| (option(key), text.clone()))
    }
}

/// The option of a key. That of `date` has a name of its own: `--date` is the day of the plan.
fn option(key: &str) -> String {
    if key == "date" { "bearing-date".to_owned() } else { key.replace('_', "-") }
}

/// The id under which clap keeps a key, apart from the ids of other options.
fn id(key: &'static str) -> &'static str {
    if key == "date" { "bearing_date" } else { key }
}

impl FromArgMatches for KeyOptions {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut options = Self::default();
        options.update_from_arg_matches(matches)?;
        Ok(options)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        for key in KEYS {
            if let Some(text) = matches.get_one::<String>(id(key.name)) {
                self.typed.push((key.name, text.clone()));
            }
        }
        Ok(())
    }
}

impl Args for KeyOptions {
    fn augment_args(command: Command) -> Command {
        let heading = "Keys of a block (each overrules the file)";
        command.next_help_heading(heading).args(KEYS.iter().map(|key| {
            Arg::new(id(key.name))
                .long(option(key.name))
                .value_name("VALUE")
                .allow_negative_numbers(true)
                .help(key.help)
        }))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}
