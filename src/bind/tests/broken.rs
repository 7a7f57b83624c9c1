//! Runs in which a step fails, or after which nothing more is done.

use super::*;

/// How a run ends early.
#[derive(Clone, Copy, PartialEq, Debug)]
enum End {
    /// The step fails, and the run can still clear up.
    Failure,
    /// The step and all after it fail: nothing more is done, as by a kill.
    Death,
}

/// What the run finds in the place of the site, and how it can swap.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Start {
    Nothing,
    EmptyFolder,
    EarlierSite,
    /// An earlier site, on a file system that exchanges no folders.
    EarlierSiteToBeMoved,
}

const STARTS: [Start; 4] = [
    Start::Nothing,
    Start::EmptyFolder,
    Start::EarlierSite,
    Start::EarlierSiteToBeMoved,
];

impl Start {
    fn lay_out(self, desk: &Desk) {
        match self {
            Start::Nothing => {}
            Start::EmptyFolder => fs::create_dir(desk.at("bound")).unwrap(),
            Start::EarlierSite | Start::EarlierSiteToBeMoved => {
                desk.bind("the earlier").unwrap();
            }
        }
    }

    /// Whether what is there is what was there before.
    fn is_kept(self, desk: &Desk) -> bool {
        let bound = desk.at("bound");
        match self {
            Start::Nothing => !bound.exists(),
            Start::EmptyFolder => bound.exists() && tree(&bound).is_empty(),
            Start::EarlierSite | Start::EarlierSiteToBeMoved => {
                tree(&bound) == complete("the earlier")
            }
        }
    }
}

/// Binds the new version; the step of that number fails. Returns the steps taken.
fn bind_until(
    desk: &Desk,
    start: Start,
    fails: Option<usize>,
    end: End,
) -> (Result<Written, BindError>, Vec<Step>) {
    let steps = Mutex::new(Vec::new());
    let hand = Hand::guided(|step, _| {
        let mut steps = steps.lock().unwrap();
        let number = steps.len();
        steps.push(step);
        let is_over = fails.is_some_and(|fails| match end {
            End::Failure => number == fails,
            End::Death => number >= fails,
        });
        if is_over {
            return Err(io::ErrorKind::StorageFull.into());
        }
        if start == Start::EarlierSiteToBeMoved && step == Step::Exchange {
            return Err(io::ErrorKind::Unsupported.into());
        }
        Ok(())
    });
    let result = site("the new").write_by(&hand, &desk.at("bound"), &desk.at("content"));
    drop(hand);
    (result, steps.into_inner().unwrap())
}

/// Runs a check after every possible early end.
fn after_every_step(
    end: End,
    mut check: impl FnMut(&Desk, Start, Step, Result<Written, BindError>),
) {
    for start in STARTS {
        let desk = Desk::new();
        start.lay_out(&desk);
        let (result, steps) = bind_until(&desk, start, None, end);
        result.unwrap();
        // 4 files of four steps each, 2 lists, 3 folders of two, the swap and clearing
        // up.
        assert!(steps.len() > 30, "{steps:?}");
        for number in 0..steps.len() {
            let _nobody_starts = STARTING.read();
            let desk = Desk::new();
            start.lay_out(&desk);
            let (result, taken) = bind_until(&desk, start, Some(number), end);
            check(&desk, start, taken[number], result);
        }
    }
}

#[test]
fn a_step_that_fails_changes_nothing_or_nothing_that_is_seen() {
    after_every_step(End::Failure, |desk, start, step, result| {
        let case = format!("{step:?} failing after {start:?}: {result:?}");
        match result {
            Ok(_) => assert_eq!(tree(&desk.at("bound")), complete("the new"), "{case}"),
            Err(failure) => {
                assert!(start.is_kept(desk), "{case}");
                let message = failure.to_string();
                assert!(
                    message.ends_with("; make room, then bind again"),
                    "{message}"
                );
            }
        }
        // Only what could not be removed may be left, and not for long.
        if desk.beside().iter().any(|name| name != "bound") {
            let clears_up = [Step::RemoveFile, Step::RemoveFolder, Step::MakeFile];
            assert!(clears_up.contains(&step), "{case}: {:?}", desk.beside());
        }
        desk.bind("the last").unwrap();
        assert_eq!(tree(&desk.at("bound")), complete("the last"), "{case}");
        assert_eq!(desk.beside(), ["bound"], "{case}");
    });
}

#[test]
fn a_death_at_any_step_leaves_a_whole_site_and_the_next_run_clears_up() {
    after_every_step(End::Death, |desk, start, step, result| {
        let case = format!("{step:?} the last after {start:?}: {result:?}");
        let bound = desk.at("bound");
        let is_new = || bound.exists() && tree(&bound) == complete("the new");
        if start == Start::EarlierSiteToBeMoved && !bound.exists() {
            // The one moment without a site: between moving away and moving in.
            assert!(matches!(result, Err(BindError::Stranded { .. })), "{case}");
            let BindError::Stranded { earlier, .. } = result.unwrap_err() else {
                unreachable!();
            };
            assert_eq!(tree(&earlier), complete("the earlier"), "{case}");
        } else {
            assert!(start.is_kept(desk) || is_new(), "{case}");
            assert_eq!(is_new(), result.is_ok(), "{case}");
        }
        desk.bind("the last").unwrap();
        assert_eq!(tree(&desk.at("bound")), complete("the last"), "{case}");
        assert_eq!(desk.beside(), ["bound"], "{case}");
    });
}

#[test]
fn a_site_that_was_moved_away_is_put_back_before_anything_else() {
    let desk = Desk::new();
    desk.bind("the earlier").unwrap();
    let is_away = AtomicBool::new(false);
    let hand = Hand::guided(|step, _| match step {
        Step::Exchange => Err(io::ErrorKind::Unsupported.into()),
        Step::MoveAway => {
            is_away.store(true, Ordering::Relaxed);
            Ok(())
        }
        _ if is_away.load(Ordering::Relaxed) => Err(io::ErrorKind::PermissionDenied.into()),
        _ => Ok(()),
    });
    let to = desk.at("bound");
    let result = site("the new").write_by(&hand, &to, &desk.at("content"));
    drop(hand);
    let message = desk.refusal(result);
    assert!(
        message.contains("the earlier site be put back: it is complete in"),
        "{message}"
    );
    assert!(!to.exists());

    // Even a run that comes to nothing puts it back.
    let full = |step, _: &Utf8Path| match step {
        Step::MakeFile => Err(io::ErrorKind::StorageFull.into()),
        _ => Ok(()),
    };
    let hand = Hand::guided(full);
    assert!(
        site("the new")
            .write_by(&hand, &to, &desk.at("content"))
            .is_err()
    );
    assert_eq!(tree(&to), complete("the earlier"));
    assert_eq!(desk.beside(), ["bound"]);
}

#[test]
fn a_run_that_is_alive_is_left_alone() {
    let desk = Desk::new();
    let was_there = AtomicBool::new(false);
    // While one run is about to swap, another one comes and goes.
    let hand = Hand::guided(|step, _| {
        if step == Step::MoveIn && !was_there.swap(true, Ordering::Relaxed) {
            desk.bind("the other").unwrap();
            fs::rename(desk.at("bound"), desk.at("other")).unwrap();
        }
        Ok(())
    });
    let to = desk.at("bound");
    site("the new")
        .write_by(&hand, &to, &desk.at("content"))
        .unwrap();
    assert_eq!(tree(&to), complete("the new"));
    assert_eq!(tree(&desk.at("other")), complete("the other"));
}

#[test]
fn folders_that_only_look_like_leftovers_are_left_alone() {
    let desk = Desk::new();
    fs::create_dir(desk.at(".bound.ohmbook-abc123")).unwrap();
    fs::write(desk.at(".bound.ohmbook-abc123/mine.txt"), "mine").unwrap();
    fs::create_dir(desk.at(".bound.ohmbook-")).unwrap();
    desk.bind("1").unwrap();
    assert_eq!(
        desk.beside(),
        [".bound.ohmbook-", ".bound.ohmbook-abc123", "bound"]
    );
}

/// A name of 300 bytes is refused by every common file system: a failure that
/// is the system's own.
#[test]
fn a_name_that_the_system_refuses_leaves_the_earlier_site() {
    let desk = Desk::new();
    desk.bind("the earlier").unwrap();
    let mut too_long = site("the new");
    too_long.files.insert("x".repeat(300).into(), Vec::new());
    let result = too_long.write(&desk.at("bound"), &desk.at("content"));
    let message = desk.refusal(result);
    assert!(message.starts_with("cannot write the file"), "{message}");
    assert_eq!(tree(&desk.at("bound")), complete("the earlier"));
    assert_eq!(desk.beside(), ["bound"]);
}
