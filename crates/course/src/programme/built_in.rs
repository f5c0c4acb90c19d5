//! The programmes that come with the program.

/// Name and text of every built-in programme, the best one to begin with first.
pub fn programmes() -> &'static [(&'static str, &'static str)] {
    macro_rules! programmes {
        ($($name:literal),+ $(,)?) => {
            &[$(($name, include_str!(concat!("../../../../assets/programmes/", $name, ".toml")))),+]
        };
    }
    programmes!["twelve-weeks-of-bends", "second-position", "third-position", "first-overblows"]
}
