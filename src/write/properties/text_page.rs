//! A page of plain text: heads, paragraphs and labelled lines, never wider than a screen.

/// Letters of the widest line.
const WIDTH: usize = 78;
/// Letters before what a label says.
const LABEL: usize = 27;

/// A page in the making.
#[derive(Debug, Clone, Default)]
pub(super) struct TextPage {
    text: String,
    /// A blank line stands between a paragraph and what follows.
    after_paragraph: bool,
}

impl TextPage {
    /// The title, underlined.
    pub(super) fn title(&mut self, text: &str) {
        let rule = "=".repeat(text.chars().count().min(WIDTH));
        self.lines([text, rule.as_str()]);
    }

    /// The head of a part.
    pub(super) fn head(&mut self, text: &str) {
        let rule = "-".repeat(text.chars().count().min(WIDTH));
        self.after_paragraph = false;
        self.lines(["", text, rule.as_str()]);
    }

    /// A paragraph.
    pub(super) fn paragraph(&mut self, text: &str) {
        self.text.push('\n');
        self.wrapped("", text, 0);
        self.after_paragraph = true;
    }

    /// A label with what it says.
    pub(super) fn item(&mut self, label: &str, text: &str) {
        self.apart();
        if label.chars().count() > LABEL - 3 {
            self.lines([format!("  {label}").as_str()]);
            self.wrapped(&" ".repeat(LABEL), text, LABEL);
            return;
        }
        self.wrapped(&format!("  {label:<width$}", width = LABEL - 2), text, LABEL);
    }

    /// One of several points.
    pub(super) fn point(&mut self, mark: &str, text: &str) {
        self.apart();
        self.wrapped(&format!("  {mark:<3}"), text, 5);
    }

    /// A line as it is, however wide.
    pub(super) fn verbatim(&mut self, line: &str) {
        self.lines([line]);
    }

    /// The page.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.text.into_bytes()
    }

    fn apart(&mut self) {
        if std::mem::take(&mut self.after_paragraph) {
            self.text.push('\n');
        }
    }

    fn lines<'t>(&mut self, lines: impl IntoIterator<Item = &'t str>) {
        for line in lines {
            self.text.push_str(line);
            self.text.push('\n');
        }
    }

    /// Words in lines; those after the first start so far in.
    fn wrapped(&mut self, first: &str, text: &str, indent: usize) {
        let mut line = first.to_owned();
        let mut begun = false;
        for word in text.split_whitespace() {
            let length = line.chars().count() + word.chars().count() + usize::from(begun);
            if begun && length > WIDTH {
                self.lines([line.trim_end()]);
                line = " ".repeat(indent);
                begun = false;
            }
            if begun {
                line.push(' ');
            }
            line.push_str(word);
            begun = true;
        }
        self.lines([line.trim_end()]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_a_screen_and_no_word_is_lost() {
        let mut page = TextPage::default();
        page.title("North");
        page.head("Grid");
        page.item("Unit", &"metre ".repeat(40));
        page.item("a label that is far too long for it", "its line");
        page.paragraph(&"a sentence of words ".repeat(30));
        page.point("1.", "visit both");
        let text = String::from_utf8(page.into_bytes()).unwrap();
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH), "{text}");
        assert_eq!(text.matches("metre").count(), 40);
        assert!(text.contains(&format!("\n{}metre metre", " ".repeat(LABEL))), "{text}");
        assert!(
            text.contains(&format!("far too long for it\n{}its line\n", " ".repeat(LABEL))),
            "{text}"
        );
        assert!(text.contains("words\n\n  1. visit both\n"), "{text}");
    }
}
