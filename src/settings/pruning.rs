//! What winter pruning needs to know: formulas and rules by their names.

use std::{fmt, str::FromStr};

/// A formula of balanced pruning such as `30+10`: nodes for the first pound of prunings, and for
/// each pound above it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NodeFormula {
    /// Nodes for the first pound.
    pub first: u32,
    /// Nodes for each pound above it.
    pub more: u32,
}

/// More nodes than this for a pound are a typing error.
const MOST_FOR_A_POUND: u32 = 200;

impl FromStr for NodeFormula {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let mend = || format!("`{text}` is no formula; write it as 30+10");
        let (first, more) = text.split_once('+').ok_or_else(mend)?;
        let part = |text: &str| text.trim().parse::<u32>().ok().ok_or_else(mend);
        let (first, more) = (part(first)?, part(more)?);
        let usual = (1..=MOST_FOR_A_POUND).contains(&first) && more <= MOST_FOR_A_POUND;
        usual.then_some(Self { first, more }).ok_or_else(|| {
            format!("`{text}` is no usual formula; write 1 to {MOST_FOR_A_POUND} nodes a pound")
        })
    }
}

impl fmt::Display for NodeFormula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}+{}", self.first, self.more)
    }
}

/// A formula, or none where the text is empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct MaybeFormula(pub(super) Option<NodeFormula>);

impl FromStr for MaybeFormula {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        if text.is_empty() { Ok(Self(None)) } else { text.parse().map(Some).map(Self) }
    }
}

/// How a formula is read below its first pound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnderAPound {
    /// The first pound's nodes whole.
    First,
    /// A share of them.
    ProRata,
}

impl FromStr for UnderAPound {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim() {
            "first" => Ok(Self::First),
            "pro-rata" => Ok(Self::ProRata),
            _ => Err("write first or pro-rata".to_owned()),
        }
    }
}

/// A published rule for nodes to keep where buds died in winter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BudRule {
    /// Cornell University, Northern New York Grape Update 2014.
    Cornell,
    /// Purdue University Extension, Facts for Fancy Fruit.
    Purdue,
    /// A guide to table grapes in Michigan.
    Michigan,
    /// As many as leave the wanted number alive.
    Survival,
}

impl BudRule {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Cornell, Self::Purdue, Self::Michigan, Self::Survival];

    /// Its name in settings, options and files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cornell => "cornell",
            Self::Purdue => "purdue",
            Self::Michigan => "michigan",
            Self::Survival => "survival",
        }
    }
}

impl FromStr for BudRule {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let found = Self::ALL.into_iter().find(|rule| rule.word() == text.trim());
        found.ok_or_else(|| "write cornell, purdue, michigan or survival".to_owned())
    }
}

impl fmt::Display for BudRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The formula of a kind of vine and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KindFormula {
    /// The formula, where there is one.
    pub formula: Option<NodeFormula>,
    /// Where it comes from.
    pub source: &'static str,
}

/// What winter pruning needs to know.
#[derive(Debug, Clone, PartialEq)]
pub struct PruneSettings {
    /// The formula of vinifera.
    pub vinifera: KindFormula,
    /// The formula of hybrids.
    pub hybrid: KindFormula,
    /// The formula of natives.
    pub native: KindFormula,
    /// The formula of every planting, when the call says so.
    pub formula: Option<NodeFormula>,
    /// Most nodes on a vine.
    pub most_nodes: u32,
    /// Fewest nodes on a vine.
    pub fewest_nodes: u32,
    /// How a formula is read below a pound.
    pub under_a_pound: UnderAPound,
    /// What is done where buds died.
    pub bud_rule: BudRule,
    /// Fewer buds looked at than this are told.
    pub fewest_buds: u32,
    /// Nodes of a spur.
    pub nodes_per_spur: u32,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_read_as_they_are_printed() {
        assert_eq!("30+10".parse(), Ok(NodeFormula { first: 30, more: 10 }));
        assert_eq!(" 20 + 20".parse::<NodeFormula>().unwrap().to_string(), "20+20");
        for wrong in ["30", "30+", "0+10", "30-10", "30+ten", "-3+10", "900+10"] {
            assert!(wrong.parse::<NodeFormula>().unwrap_err().contains(wrong), "{wrong}");
        }
    }

    #[test]
    fn rules_are_read_by_their_names() {
        for rule in BudRule::ALL {
            assert_eq!(rule.to_string().parse(), Ok(rule));
        }
        assert!("ohio".parse::<BudRule>().unwrap_err().contains("survival"));
    }
}
