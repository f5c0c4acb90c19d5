//! What is taken for a device that is gone.

use super::*;

fn watched(patience: u32) -> (Arc<AtomicU64>, Arc<Faults>, Watch) {
    let (calls, faults) = (Arc::new(AtomicU64::new(0)), Arc::new(Faults::default()));
    let watch = Watch::new(Arc::clone(&calls), Arc::clone(&faults), patience);
    (calls, faults, watch)
}

fn error(kind: ErrorKind) -> Error {
    Error::from(kind)
}

#[test]
fn half_a_second_without_a_block_is_a_loss_and_a_slow_start_is_none() {
    let (calls, _, mut watch) = watched(INPUT_PATIENCE);
    for _ in 0..FIRST_PATIENCE - 1 {
        assert_eq!(watch.look(), Seen::Well);
    }
    calls.fetch_add(1, Ordering::Relaxed);
    assert_eq!(watch.look(), Seen::Well);
    for _ in 0..9 {
        assert_eq!(watch.look(), Seen::Well);
    }
    assert_eq!(watch.silence(), Duration::from_millis(450));
    assert_eq!(watch.look(), Seen::Gone);
}

#[test]
fn a_device_that_never_delivers_is_given_up() {
    let (_, _, mut watch) = watched(INPUT_PATIENCE);
    let looks = (1..1_000).find(|_| watch.look() == Seen::Gone);
    assert_eq!(looks, Some(FIRST_PATIENCE));
}

/// The rates are those of ALSA's PulseAudio plug-in: about 25 harmless errors between two looks while an idle sink
/// starts, and 15 000 after the sink is gone.
#[test]
fn a_few_errors_are_noise_and_a_flood_is_a_loss() {
    let (calls, faults, mut watch) = watched(INPUT_PATIENCE);
    let mut look = |errors: u32| {
        calls.fetch_add(1, Ordering::Relaxed);
        for _ in 0..errors {
            faults.count(&error(ErrorKind::BackendError));
        }
        watch.look()
    };
    assert!((0..100).all(|_| look(30) == Seen::Well));
    assert_eq!(look(15_000), Seen::Gone);
}

#[test]
fn errors_are_told_apart() {
    for kind in [ErrorKind::DeviceNotAvailable, ErrorKind::StreamInvalidated, ErrorKind::HostUnavailable] {
        let (calls, faults, mut watch) = watched(INPUT_PATIENCE);
        calls.fetch_add(1, Ordering::Relaxed);
        faults.count(&error(kind));
        assert_eq!(watch.look(), Seen::Gone, "{kind:?}");
    }
    let (calls, faults, mut watch) = watched(INPUT_PATIENCE);
    let mut after = |kind| {
        calls.fetch_add(1, Ordering::Relaxed);
        faults.count(&error(kind));
        (watch.look(), watch.look())
    };
    assert_eq!(after(ErrorKind::Xrun), (Seen::Xruns, Seen::Well));
    assert_eq!(after(ErrorKind::DeviceChanged), (Seen::Moved, Seen::Well));
    assert_eq!(after(ErrorKind::RealtimeDenied), (Seen::Well, Seen::Well));
}
