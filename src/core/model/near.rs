//! Which known word a mistyped one is nearest to.

/// How alike two words are from which on one is likely meant for the other. Common practice, no source.
const ALIKE: f64 = 0.8;
/// Characters of the longest word that anybody mistypes; a longer one is looked at by nobody but programs.
const LONGEST: usize = 200;

/// The known word that is most like the one that was given; `None` if none is like it.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.len() > LONGEST {
        return None;
    }
    let small = word.to_lowercase();
    known
        .into_iter()
        .map(|known| (strsim::jaro_winkler(&known.to_lowercase(), &small), known))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .map(|(_, known)| known)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_its_word_and_another_word_none() {
        let known = ["report", "check", "tent on the roof"];
        assert_eq!(nearest("reprot", known), Some("report"));
        assert_eq!(nearest("Tent", known), Some("tent on the roof"));
        assert_eq!(nearest("schema", known), None);
        assert_eq!(nearest("report", []), None);
        assert_eq!(nearest(&"report".repeat(40), known), None);
    }
}
