//! Words that are chosen by typing how they begin.

/// The letters typed so far at a choice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Prefix(String);

impl Prefix {
    /// The number of the word that the letters typed so far choose: the first that begins with them. Where none does, the
    /// letter begins anew, and a letter that is typed again goes on to the next word with it. `at` is the word chosen now.
    pub(super) fn choose<T: AsRef<str>>(
        &mut self,
        words: &[T],
        at: Option<usize>,
        letter: char,
    ) -> Option<usize> {
        let letter = letter.to_lowercase();
        let longer = format!("{}{letter}", self.0);
        let begins = |word: &T, with: &str| word.as_ref().to_lowercase().starts_with(with);
        if let Some(found) = words.iter().position(|word| begins(word, &longer)) {
            self.0 = longer;
            return Some(found);
        }
        let anew = letter.to_string();
        let after = at.map_or(0, |at| at + 1);
        let around = (after..words.len()).chain(0..after.min(words.len()));
        let found = around
            .into_iter()
            .find(|&number| begins(&words[number], &anew))?;
        self.0 = anew;
        Some(found)
    }

    /// Forgets the letters: another word was chosen, or they were taken back.
    pub(super) fn clear(&mut self) {
        self.0.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::Prefix;

    const SURFACES: [&str; 8] = [
        "sealed",
        "gravel",
        "corrugated",
        "earth",
        "rock",
        "mud",
        "salt",
        "snow",
    ];

    fn typed(text: &str) -> Option<&'static str> {
        let mut prefix = Prefix::default();
        let mut at = None;
        for letter in text.chars() {
            at = prefix.choose(&SURFACES, at, letter).or(at);
        }
        at.map(|at| SURFACES[at])
    }

    /// A whole word chooses itself, and so does each beginning of it that no other word has.
    #[test]
    fn a_word_chooses_itself() {
        for word in SURFACES {
            assert_eq!(typed(word), Some(word));
        }
        assert_eq!(typed("sa"), Some("salt"));
        assert_eq!(typed("SN"), Some("snow"));
    }

    /// A letter again is the next word with it; a letter that does not fit begins anew.
    #[test]
    fn a_letter_again_is_the_next_word() {
        assert_eq!(typed("ss"), Some("salt"));
        assert_eq!(typed("sss"), Some("snow"));
        assert_eq!(typed("sealedm"), Some("mud"));
        assert_eq!(typed("x"), None);
    }
}
