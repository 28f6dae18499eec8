//! What is noticed about the inputs: what, where, why, and how to mend it.

use std::fmt;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; nothing is wrong.
    Note,
    /// Something was mended or doubted, and the job goes on.
    Warning,
    /// The input cannot be used as it is.
    Fault,
}

/// Where in the inputs something is: as much of it as is known.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place {
    /// The file's name as the user gave it.
    pub file: Option<String>,
    /// The line in the file, counted from 1.
    pub line: Option<u64>,
    /// The feature: its number in the file and its name or id.
    pub feature: Option<String>,
    /// The key, column or setting.
    pub field: Option<String>,
}

impl Place {
    /// Somewhere in a file.
    pub fn file(file: impl Into<String>) -> Self {
        Self { file: Some(file.into()), ..Self::default() }
    }

    /// A key, column or setting, wherever it was given.
    pub fn field(field: impl Into<String>) -> Self {
        Self { field: Some(field.into()), ..Self::default() }
    }

    /// The same place, on this line.
    #[must_use]
    pub fn at_line(&self, line: u64) -> Self {
        Self { line: Some(line), ..self.clone() }
    }

    /// The same place, in this feature.
    #[must_use]
    pub fn in_feature(&self, feature: impl Into<String>) -> Self {
        Self { feature: Some(feature.into()), ..self.clone() }
    }

    /// The same place, at this key, column or setting.
    #[must_use]
    pub fn at_field(&self, field: impl Into<String>) -> Self {
        Self { field: Some(field.into()), ..self.clone() }
    }
}

impl fmt::Display for Place {
    /// `counts.csv, line 12, column shoots`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [
            self.file.clone(),
            self.line.map(|line| format!("line {line}")),
            self.feature.clone(),
            self.field.as_ref().map(|field| format!("`{field}`")),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        f.write_str(&parts.join(", "))
    }
}

/// One thing noticed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// Where it is.
    pub place: Place,
    /// What is the matter, in one sentence without a full stop.
    pub what: String,
    /// Why that matters or what was done about it; may be empty.
    pub why: String,
    /// How to mend it; may be empty for a note.
    pub mend: String,
}

impl Finding {
    /// Something that stops the job.
    pub fn fault(place: Place, what: impl Into<String>) -> Self {
        Self::new(Severity::Fault, place, what.into())
    }

    /// Something mended or doubted.
    pub fn warning(place: Place, what: impl Into<String>) -> Self {
        Self::new(Severity::Warning, place, what.into())
    }

    /// Something worth knowing.
    pub fn note(place: Place, what: impl Into<String>) -> Self {
        Self::new(Severity::Note, place, what.into())
    }

    fn new(severity: Severity, place: Place, what: String) -> Self {
        Self { severity, place, what, why: String::new(), mend: String::new() }
    }

    /// The same finding with its reason.
    #[must_use]
    pub fn because(self, why: impl Into<String>) -> Self {
        Self { why: why.into(), ..self }
    }

    /// The same finding with what to do about it.
    #[must_use]
    pub fn mend(self, mend: impl Into<String>) -> Self {
        Self { mend: mend.into(), ..self }
    }
}

impl fmt::Display for Finding {
    /// `counts.csv, line 12, column shoots: 3.5 is no whole number (a count is …). Write …`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = self.place.to_string();
        if !place.is_empty() {
            write!(f, "{place}: ")?;
        }
        f.write_str(&self.what)?;
        if !self.why.is_empty() {
            write!(f, " ({})", self.why)?;
        }
        if !self.mend.is_empty() {
            write!(f, "; {}", self.mend)?;
        }
        Ok(())
    }
}

/// All that was noticed, in the order it was found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Findings(Vec<Finding>);

impl Findings {
    /// Nothing noticed yet.
    pub const fn none() -> Self {
        Self(Vec::new())
    }

    /// Adds one.
    pub fn push(&mut self, finding: Finding) {
        self.0.push(finding);
    }

    /// Adds all of another's.
    pub fn extend(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// In the order they were found.
    pub fn iter(&self) -> std::slice::Iter<'_, Finding> {
        self.0.iter()
    }

    /// True when something stops the job.
    pub fn any_fault(&self) -> bool {
        self.0.iter().any(|finding| finding.severity == Severity::Fault)
    }

    /// True when nothing was noticed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl From<Finding> for Findings {
    fn from(finding: Finding) -> Self {
        Self(vec![finding])
    }
}

impl FromIterator<Finding> for Findings {
    fn from_iter<I: IntoIterator<Item = Finding>>(findings: I) -> Self {
        Self(findings.into_iter().collect())
    }
}

impl<'a> IntoIterator for &'a Findings {
    type Item = &'a Finding;
    type IntoIter = std::slice::Iter<'a, Finding>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl IntoIterator for Findings {
    type Item = Finding;
    type IntoIter = std::vec::IntoIter<Finding>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}
