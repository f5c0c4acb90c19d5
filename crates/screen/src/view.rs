//! Which view is on the screen.

/// A view: what the screen shows, and which keys work. What each of them draws and does stands in a file of its own in
/// `views`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Today's practice: the first screen.
    Today,
    /// The list of everything that can be practised.
    Home,
    /// A drill.
    Drill,
    /// A run in time.
    Run,
    /// Free playing over a form.
    Jam,
    /// Questions by ear.
    Ear,
    /// Free playing.
    Listen,
    /// The end of a drill.
    Summary,
    /// The map of a harp.
    Map,
    /// What changed in a month.
    Progress,
}
