//! Every key of a block as an option that overrules it: `row_spacing` is `--row-spacing`.

use catchwire::{
    block::BlockKeys,
    finding::Findings,
    read::{BLOCK_KEYS, set_key},
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
            if let Err(mut finding) = set_key(&mut keys, key, text) {
                finding.place.field = Some(option(key));
                findings.push(finding);
            }
        }
        if findings.any_fault() { Err(findings) } else { Ok(keys) }
    }

    /// The options as typed, for the run record.
    pub(crate) fn typed(&self) -> impl Iterator<Item = (String, String)> + '_ {
        self.typed.iter().map(|(key, text)| ((*key).to_owned(), text.clone()))
    }
}

fn option(key: &str) -> String {
    format!("--{}", key.replace('_', "-"))
}

impl FromArgMatches for KeyOptions {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut options = Self::default();
        options.update_from_arg_matches(matches)?;
        Ok(options)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        for (key, _) in BLOCK_KEYS {
            if let Some(text) = matches.get_one::<String>(key) {
                self.typed.push((key, text.clone()));
            }
        }
        Ok(())
    }
}

impl Args for KeyOptions {
    fn augment_args(command: Command) -> Command {
        let heading = "Keys of a block (each overrules the file)";
        command.next_help_heading(heading).args(BLOCK_KEYS.iter().map(|(key, help)| {
            Arg::new(*key)
                .long(key.replace('_', "-"))
                .value_name("VALUE")
                .allow_negative_numbers(true)
                .help(*help)
        }))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}
