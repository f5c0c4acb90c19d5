//! How many notes a call has.

/// The shortest call and the longest. Ours: one note is no phrase, and more than five is more than a phrase of the
/// blues sings in a breath at the tempo of a call.
pub(super) const LEAST: usize = 2;
const MOST: usize = 5;
/// A call grows after so many right answers in a row and shrinks after each wrong one. With three, the length settles
/// where 79 % of the answers are right (Levitt, Transformed up-down methods in psychoacoustics, JASA 49:467–477, 1971,
/// table I; from memory), the nearest of these rules to the 85 % at which learning by trial is said to go fastest
/// (Wilson et al., Nature Communications 10:4646, 2019, an analogy only) that can still grow within ten questions.
const IN_A_ROW: u32 = 3;

/// How many notes a call has now.
#[derive(Clone, Copy, Debug)]
pub(super) struct Length {
    notes: usize,
    right: u32,
}

impl Length {
    pub(super) fn new() -> Self {
        Self { notes: LEAST, right: 0 }
    }

    pub(super) fn notes(self) -> usize {
        self.notes
    }

    /// An answer was right or wrong.
    pub(super) fn answered(&mut self, right: bool) {
        if !right {
            (self.notes, self.right) = ((self.notes - 1).max(LEAST), 0);
            return;
        }
        self.right += 1;
        if self.right == IN_A_ROW {
            (self.notes, self.right) = ((self.notes + 1).min(MOST), 0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_grows_after_three_right_ones_in_a_row_and_shrinks_after_a_wrong_one() {
        let mut length = Length::new();
        let mut lengths = Vec::new();
        for right in [true, true, true, true, true, false, true, true, true, false, false] {
            length.answered(right);
            lengths.push(length.notes());
        }
        assert_eq!(lengths, [2, 2, 3, 3, 3, 2, 2, 2, 3, 2, 2]);
    }

    /// Levitt's rule: the length settles where as many steps lead up as down, at p³ = 1/2.
    #[test]
    fn it_settles_where_four_of_five_answers_are_right() {
        assert!((0.5_f64.powf(1.0 / f64::from(IN_A_ROW)) - 0.794).abs() < 0.001);
        // A player who is right with 0.95, 0.85, 0.7 and 0.4 at 2 to 5 notes has his 79 % between three and four.
        let chances = [0.95, 0.85, 0.7, 0.4];
        let mut random = oorandom::Rand64::new(7);
        let (mut length, mut spent) = (Length::new(), [0_u32; 4]);
        for _ in 0..20_000 {
            let at = length.notes() - LEAST;
            spent[at] += 1;
            length.answered(random.rand_float() < chances[at]);
        }
        assert!(spent[1] + spent[2] > spent[0] + spent[3], "{spent:?}");
    }
}
