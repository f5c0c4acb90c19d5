//! `track`: the CSV and what stands in it.

use crate::take::{samples_of, write};
use crate::{run, text};
use layout::{Harp, HarpKey};

#[test]
fn one_row_a_hop_with_the_columns_promised() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("one.wav");
    let harp = Harp::richter("C".parse::<HarpKey>().unwrap());
    write(&path, &samples_of(&harp, 48_000.0, 5, &[("-4", 0.0, "landed")]), 48_000);
    let run = run(&["track", text(&path), "--harp", "C"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let mut rows = run.out.lines();
    assert_eq!(rows.next(), Some("known_s,time_s,hz,clarity,level_dbfs,onset"));
    let rows: Vec<Vec<f64>> =
        rows.map(|row| row.split(',').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect()).collect();
    let onsets = rows.iter().filter(|row| row[5] == 1.0).count();
    assert_eq!(onsets, 1, "one note has one onset");
    for pair in rows.windows(2) {
        let hop = pair[1][0] - pair[0][0];
        assert!(hop > 0.0 && hop < 0.003, "a hop of {hop} s");
        assert!(pair[1][1] <= pair[1][0], "described before it was known");
    }
    // D5 at A4 = 440 is 587.3295 Hz (MIDI tuning formula).
    let voiced: Vec<f64> = rows.iter().map(|row| row[2]).filter(|hz| hz.is_finite()).collect();
    let near = voiced.iter().filter(|hz| (1200.0 * (**hz / 587.3295).log2()).abs() < 5.0).count();
    assert!(near * 100 > voiced.len() * 95, "{near} of {}", voiced.len());
}
