//! What the ear says, once a hop.

/// One statement of the ear. Times are sample counts since the stream began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The sample that the reading describes: the centre of the usual window, which is 20 ms or two periods long. A
    /// longer window that agrees with the short one makes `hz` more exact and does not move the time. Within a note it
    /// never goes back: where the window grows by a period, it stands still for a reading or two.
    pub time: u64,
    /// The number of samples that had arrived when the reading could first be known.
    pub known: u64,
    /// Fundamental in hertz, or `None` while no note sounds.
    pub hz: Option<f64>,
    /// One standard deviation of the error to expect in `hz`, cents; 0 while no note sounds.
    pub sigma_cents: f32,
    /// How periodic the sound is, 0 (noise) to 1 (a perfect reed).
    pub clarity: f32,
    /// Level of the newest part of the window, dB relative to a full-scale sine.
    pub level_dbfs: f32,
    /// True on the one reading at which a new note begins.
    pub onset: bool,
}
