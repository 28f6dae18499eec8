//! The settings file: the table of defaults with some values changed.

use std::fmt::Write as _;

use toml::{Table, Value};

use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    settings::{
        CompareSettings, EstimateSettings, JoinSettings, MaterialSettings, PlanSettings,
        PruneSettings, SampleSettings, TABLE, ZoneSettings, reader::Reader,
    },
    units::Metres,
};

/// Every setting with its value: the defaults, overruled by a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    pub(super) values: Vec<(&'static str, String)>,
    pub(super) file: Option<String>,
}

impl Default for Settings {
    fn default() -> Self {
        let values = TABLE.iter().map(|s| (s.key, unquoted(s.value).to_owned())).collect();
        Self { values, file: None }
    }
}

pub(super) fn unquoted(text: &str) -> &str {
    text.trim_matches('"')
}

/// A text as TOML; `command` prints a file to start from.
pub(super) fn toml_table(text: &str, place: &Place, command: &str) -> Result<Table, Finding> {
    text.parse::<Table>().map_err(|error| {
        let line = error.span().map_or(1, |span| 1 + text[..span.start].matches('\n').count());
        Finding::fault(place.at_line(line as u64), "this is no TOML".to_owned())
            .because(error.message().to_owned())
            .mend(format!("start from the output of `{command}`"))
    })
}

impl Settings {
    /// The defaults, overruled by the text of a settings file.
    ///
    /// # Errors
    /// When the text is no TOML, a key is unknown (the nearest one is named) or a value does not
    /// fit its key; all of them together.
    pub fn from_text(text: &str, file: &str) -> Result<Self, Error> {
        let place = Place::file(file);
        let table = toml_table(text, &place, "catchwire settings")?;
        let mut settings = Self { file: Some(file.to_owned()), ..Self::default() };
        let mut findings = Findings::none();
        for (section, entries) in &table {
            let Some(entries) = entries.as_table() else {
                findings.push(unknown(&place, section));
                continue;
            };
            for (name, value) in entries {
                settings.overrule(&format!("{section}.{name}"), value, &mut findings);
            }
        }
        settings.check(&mut findings);
        if findings.any_fault() { Err(Error::Input(findings)) } else { Ok(settings) }
    }

    fn overrule(&mut self, key: &str, value: &Value, findings: &mut Findings) {
        let place = Place { file: self.file.clone(), ..Place::default() };
        let text = match value {
            Value::String(text) => text.clone(),
            Value::Integer(number) => number.to_string(),
            Value::Float(number) => number.to_string(),
            Value::Boolean(yes) => yes.to_string(),
            Value::Datetime(_) | Value::Array(_) | Value::Table(_) => {
                findings.push(
                    Finding::fault(place.at_field(key), "neither a number nor a text")
                        .mend("write the value as `catchwire settings` prints it"),
                );
                return;
            }
        };
        match self.values.iter_mut().find(|(known, _)| *known == key) {
            Some((_, current)) => *current = text,
            None => findings.push(unknown(&place, key)),
        }
    }

    /// Takes every value once, so that a wrong one is told before any stage runs.
    fn check(&self, findings: &mut Findings) {
        let mut reader = Reader { settings: self, findings };
        reader.sample();
        reader.join();
        reader.estimate();
        reader.zones();
        reader.plan();
        reader.prune();
        reader.layout();
        reader.materials();
        reader.compare();
    }

    /// What drawing a sample needs.
    pub fn sample(&self) -> SampleSettings {
        Reader { settings: self, findings: &mut Findings::none() }.sample()
    }

    /// What joining needs; dates are set by the job.
    pub fn join(&self) -> JoinSettings {
        Reader { settings: self, findings: &mut Findings::none() }.join()
    }

    /// What estimation needs; pins are set by the job.
    pub fn estimate(&self) -> EstimateSettings {
        Reader { settings: self, findings: &mut Findings::none() }.estimate()
    }

    /// What drawing zones needs.
    pub fn zones(&self) -> ZoneSettings {
        Reader { settings: self, findings: &mut Findings::none() }.zones()
    }

    /// What planning needs; dates and crew are set by the job.
    pub fn plan(&self) -> PlanSettings {
        Reader { settings: self, findings: &mut Findings::none() }.plan()
    }

    /// What winter pruning needs; a formula for every planting is set by the job.
    pub fn prune(&self) -> PruneSettings {
        Reader { settings: self, findings: &mut Findings::none() }.prune()
    }

    /// Defaults of block keys.
    pub fn layout(&self) -> LayoutDefaults {
        Reader { settings: self, findings: &mut Findings::none() }.layout()
    }

    /// What comparing bearings needs.
    pub fn compare(&self) -> CompareSettings {
        Reader { settings: self, findings: &mut Findings::none() }.compare()
    }

    /// What the list of materials needs.
    pub fn materials(&self) -> MaterialSettings {
        Reader { settings: self, findings: &mut Findings::none() }.materials()
    }

    /// Where the value of a key comes from: the source of its default, or the file that overruled it.
    pub fn source(&self, key: &str) -> &'static str {
        let default = TABLE.iter().find(|setting| setting.key == key);
        let value = self.values.iter().find(|(known, _)| *known == key);
        match (default, value) {
            (Some(default), Some((_, value))) if unquoted(default.value) == value => default.source,
            _ => "your settings",
        }
    }

    /// The settings as a file to edit: every value with its meaning and source.
    pub fn to_text(&self) -> String {
        let mut text = String::from(
            "# Settings of catchwire. Change a value and pass the file with --settings FILE.toml;\n\
             # a key of a block and an option of the command line outrank what stands here.\n",
        );
        let mut section = "";
        for (setting, (key, value)) in TABLE.iter().zip(&self.values) {
            let (head, name) = key.split_once('.').unwrap_or(("", key));
            if head != section {
                section = head;
                let _ = write!(text, "\n[{section}]\n");
            }
            let plain = value.parse::<f64>().is_ok();
            let value = if plain { value.clone() } else { format!("\"{value}\"") };
            let _ = writeln!(
                text,
                "# {}\n# source: {}\n{name} = {value}",
                setting.meaning, setting.source
            );
        }
        text
    }
}

/// Defaults of the block's keys that are settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayoutDefaults {
    /// Clear length ahead of a row's end in a new planting.
    pub headland: Metres,
    /// Vines between two line posts.
    pub vines_per_panel: u32,
    /// A shorter piece of row is not planted, in vines.
    pub shortest_row_vines: u32,
    /// Vine places a block may hold.
    pub most_vines: usize,
    /// Side of the square of ground over which slope is meant.
    pub slope_support: Metres,
    /// How far off a surveyed row must be to be told.
    pub survey_tolerance: Metres,
}

fn unknown(place: &Place, key: &str) -> Finding {
    let nearest = TABLE.iter().max_by(|a, b| {
        let likeness =
            |setting: &crate::settings::Setting| crate::names::likeness(key, setting.key);
        likeness(a).total_cmp(&likeness(b))
    });
    let hint =
        nearest.map_or_else(String::new, |setting| format!("did you mean `{}`?", setting.key));
    Finding::fault(place.at_field(key), "no such setting").mend(hint)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        settings::{Prices, Wires},
        units::PerMetre,
    };

    #[test]
    fn every_default_is_sound() {
        let mut findings = Findings::none();
        Settings::default().check(&mut findings);
        assert!(findings.is_empty(), "{findings:?}");
        // 0.3–0.6 kg/m is the 0.2–0.4 lb/ft of the source within its rounding.
        let plan = Settings::default().plan();
        let lb_per_ft = |kg_per_m: PerMetre| kg_per_m.per_foot() / 0.453_592_37;
        assert!((lb_per_ft(plan.weak_kg_per_m) - 0.2).abs() < 0.005);
        assert!((lb_per_ft(plan.excess_kg_per_m) - 0.4).abs() < 0.005);
    }

    #[test]
    fn the_printed_file_is_read_back_unchanged() {
        let printed = Settings::default().to_text();
        let back = Settings::from_text(&printed, "settings.toml").unwrap();
        assert_eq!(back.values, Settings::default().values);
    }

    #[test]
    fn faults_are_named_together_with_the_nearest_key() {
        let text = "[plan]\nmargn = 3\nsure = 2\n[zones]\nmost = 0\n";
        let message = Settings::from_text(text, "s.toml").unwrap_err().to_string();
        assert!(message.contains("did you mean `plan.margin`"), "{message}");
        assert!(message.contains("plan.sure") && message.contains("zones.most"), "{message}");
    }

    #[test]
    fn a_price_stands_only_where_it_is_given() {
        let text = "[prices]\nvine = 4.2\nanchor = \"7,50\"\ncurrency = \"EUR\"\n\
                    [materials]\nwires = 3\n";
        let settings = Settings::from_text(text, "s.toml").unwrap().materials();
        assert_eq!(settings.wires, Wires::Number(3));
        let Prices { vine, anchor, end_post, currency, .. } = settings.prices;
        assert_eq!((vine, anchor, end_post), (Some(4.2), Some(7.5), None));
        assert_eq!(currency.as_deref(), Some("EUR"));
        let defaults = Settings::default().materials();
        assert_eq!((defaults.prices, defaults.wires), (Prices::default(), Wires::ByTraining));
        let wrong = "[prices]\nvine = -1\nend_post = \"much\"\n[materials]\nwires = 0\ntie = \"x\"\n\
                     spare_share = 3\n";
        let message = Settings::from_text(wrong, "s.toml").unwrap_err().to_string();
        let keys = ["prices.vine", "end_post", "materials.wires", "materials.tie", "spare_share"];
        assert!(keys.iter().all(|key| message.contains(key)), "{message}");
    }
}
