//! The drills and phrases that come with the program.

/// Name and text of every built-in drill, the best one to begin with first.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    macro_rules! drills {
        ($($name:literal),+ $(,)?) => {
            &[$(($name, include_str!(concat!("../../../assets/drills/", $name, ".toml")))),+]
        };
    }
    drills![
        "first-half-steps",
        "long-tones",
        "single-notes",
        "hole-3-depths",
        "hole-2-depths",
        "holes-1-4-6",
        "bend-and-release",
        "leaps-into-bends",
        "blue-notes",
        "micro-bends",
        "hole-jumps",
        "position-2-chords",
        "octaves-and-splits",
        "slow-shake",
        "vibrato",
        "blow-bends",
        "overblows",
        "overdraws",
        "minor-bends",
    ]
}

/// Name and text of every built-in phrase ([`Phrase`](crate::run::Phrase)), the best one to begin with first.
pub fn built_in_phrases() -> &'static [(&'static str, &'static str)] {
    macro_rules! phrases {
        ($($name:literal),+ $(,)?) => {
            &[$(($name, include_str!(concat!("../../../assets/phrases/", $name, ".toml")))),+]
        };
    }
    phrases![
        "half-step-home",
        "over-the-bar",
        "four-and-six",
        "third-minor",
        "two-breath-chug",
        "shuffled-chug",
        "two-and-four",
        "leaving-the-yard",
        "kitchen-waltz",
        "two-draw-home",
        "boogie-shuffle",
        "slow-blues",
        "through-the-bend",
        "three-depths",
        "blow-bends-down",
    ]
}
