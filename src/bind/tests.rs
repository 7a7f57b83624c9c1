//! Real folders, real files. Where a step must fail, the hand is told to.

#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, RwLock};

use tempfile::TempDir;
use walkdir::WalkDir;

use super::marker::Marker;
use super::*;

mod broken;
#[cfg(target_os = "linux")]
mod killed;

/// A child has the open files of its parent until it becomes a program of its
/// own, and with them the locks: a run that is dead would seem alive for that
/// moment. Whoever looks at what the dead left reads this; whoever starts a
/// child writes it.
static STARTING: RwLock<()> = RwLock::new(());

/// A folder with a notebook in `content` and room for a site in `bound`.
struct Desk {
    folder: TempDir,
}

impl Desk {
    fn new() -> Desk {
        let desk = Desk {
            folder: tempfile::tempdir().unwrap(),
        };
        fs::create_dir(desk.at("content")).unwrap();
        fs::write(desk.at("content/notebook.toml"), "title = 'x'").unwrap();
        desk
    }

    fn at(&self, path: &str) -> Utf8PathBuf {
        Utf8Path::from_path(self.folder.path()).unwrap().join(path)
    }

    fn bind(&self, version: &str) -> Result<Written, BindError> {
        let (to, sources) = (self.at("bound"), self.at("content"));
        site(version).write_by(&Hand::guided(|_, _| Ok(())), &to, &sources)
    }

    /// What lies beside the notebook, hidden or not.
    fn beside(&self) -> Vec<String> {
        let entries = self.folder.path().read_dir().unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name != "content")
            .collect();
        names.sort();
        names
    }

    /// The message of a refusal, with this folder's path left out.
    fn refusal(&self, result: Result<Written, BindError>) -> String {
        let message = result.unwrap_err().to_string();
        message.replace(self.at("").as_str(), "")
    }
}

/// A site whose files are all there.
struct Site {
    files: BTreeMap<Utf8PathBuf, Vec<u8>>,
}

impl Site {
    fn write(&self, to: &Utf8Path, sources: &Utf8Path) -> Result<Written, BindError> {
        self.write_by(&Hand::free(), to, sources)
    }

    fn write_by(
        &self,
        hand: &Hand<'_>,
        to: &Utf8Path,
        sources: &Utf8Path,
    ) -> Result<Written, BindError> {
        write_by(hand, to, sources, |filling| {
            let mut files = self.files.iter();
            files.try_for_each(|(path, bytes)| filling.put(path, bytes))
        })
    }
}

/// A small site whose files all speak of their version, but for the style sheet.
fn site(version: &str) -> Site {
    let paths = [
        "index.html",
        "boards/a/index.html",
        "boards/a/pins.svg",
        "look.css",
    ];
    let text = |path: &str| match path {
        "look.css" => "the same in all".to_owned(),
        _ => format!("{path} of {version}"),
    };
    let files = paths.map(|path| (path.into(), text(path).into_bytes()));
    Site {
        files: files.into(),
    }
}

/// Every file below a folder and what it holds, empty folders with a `/`.
fn tree(folder: &Utf8Path) -> BTreeMap<String, Vec<u8>> {
    let mut tree = BTreeMap::new();
    for entry in WalkDir::new(folder).min_depth(1) {
        let entry = entry.unwrap();
        let path = entry.path().strip_prefix(folder).unwrap();
        let path = path.to_str().unwrap().to_owned();
        if entry.file_type().is_file() {
            tree.insert(path, fs::read(entry.path()).unwrap());
        } else if entry.path().read_dir().unwrap().next().is_none() {
            tree.insert(path + "/", Vec::new());
        }
    }
    tree
}

/// What [`tree`] gives for a site that is complete and nothing else.
fn complete(version: &str) -> BTreeMap<String, Vec<u8>> {
    let site = site(version);
    let marker = Marker::of(site.files.keys().map(|path| path.to_string()))
        .text()
        .into_bytes();
    let files = site
        .files
        .into_iter()
        .map(|(path, bytes)| (path.into_string(), bytes));
    files.chain([(MARKER.to_owned(), marker)]).collect()
}

#[test]
fn a_site_is_written_and_replaced() {
    let desk = Desk::new();
    let first = desk.bind("version 1").unwrap();
    assert_eq!(tree(&desk.at("bound")), complete("version 1"));
    assert_eq!((first.files, first.replaced), (4, false));

    let mut second = site("version 2");
    second.files.remove(Utf8Path::new("boards/a/pins.svg"));
    second.files.insert("boards/b.html".into(), b"new".to_vec());
    let written = second
        .write(&desk.at("bound"), &desk.at("content"))
        .unwrap();
    assert_eq!((written.files, written.replaced), (4, true));
    let found = tree(&desk.at("bound"));
    assert!(found.contains_key("boards/b.html"));
    assert!(
        !found.contains_key("boards/a/pins.svg"),
        "what is not in the site any more goes"
    );
    assert_eq!(desk.beside(), ["bound"], "nothing is left beside it");
}

#[test]
fn folders_above_are_made_and_an_empty_one_is_taken() {
    let desk = Desk::new();
    let deep = desk.at("public/sites/bound");
    site("1").write(&deep, &desk.at("content")).unwrap();
    assert_eq!(tree(&deep), complete("1"));

    fs::create_dir(desk.at("bound")).unwrap();
    let written = desk.bind("1").unwrap();
    assert!(!written.replaced);
    assert_eq!(tree(&desk.at("bound")), complete("1"));
    assert_eq!(desk.beside(), ["bound", "public"]);
}

#[test]
fn the_same_site_is_the_same_bytes() {
    let desk = Desk::new();
    desk.bind("1").unwrap();
    let first = tree(&desk.at("bound"));
    desk.bind("1").unwrap();
    assert_eq!(tree(&desk.at("bound")), first);
    let marker = String::from_utf8(first[MARKER].clone()).unwrap();
    assert!(marker.contains("\"form\": \"ohmbook-binding\""), "{marker}");
    assert!(marker.contains("\"boards/a/index.html\""), "{marker}");
}

#[test]
fn files_are_put_in_by_many_threads_as_they_are_made() {
    let desk = Desk::new();
    let paths: Vec<String> = (0..200)
        .map(|n| format!("boards/{}/{n}.html", n % 7))
        .collect();
    let (first, second) = paths.split_at(100);
    let put = |filling: &Filling<'_>, paths: &[String]| {
        let put = |path: &String| filling.put(Utf8Path::new(path), path.as_bytes());
        paths.iter().try_for_each(put)
    };
    let written = write(&desk.at("bound"), &desk.at("content"), |filling| {
        let (one, other) = rayon::join(|| put(filling, first), || put(filling, second));
        one.and(other)
    });
    let written: Written = written.unwrap();
    let bytes = paths.iter().map(|path| path.len() as u64).sum();
    assert_eq!((written.files, written.bytes), (200, bytes));
    let found = tree(&desk.at("bound"));
    assert_eq!(found.len(), 201);
    for path in &paths {
        assert_eq!(found[path], path.as_bytes());
    }
    assert_eq!(desk.beside(), ["bound"]);
}

#[test]
fn a_maker_that_fails_midway_changes_nothing() {
    let desk = Desk::new();
    for before in [None, Some("1")] {
        before.map(|version| desk.bind(version).unwrap());
        let failed = write(&desk.at("bound"), &desk.at("content"), |filling| {
            let path = Utf8Path::new("boards/a/half.html");
            filling.put(path, b"half")?;
            Err::<(), Box<dyn std::error::Error>>("the template is wrong".into())
        });
        assert_eq!(failed.unwrap_err().to_string(), "the template is wrong");
        match before {
            None => assert_eq!(desk.beside(), Vec::<String>::new()),
            Some(version) => {
                assert_eq!(tree(&desk.at("bound")), complete(version));
                assert_eq!(desk.beside(), ["bound"]);
            }
        }
    }
}

#[test]
fn a_path_is_put_in_once() {
    let desk = Desk::new();
    let twice = write(&desk.at("bound"), &desk.at("content"), |filling| {
        filling.put(Utf8Path::new("a/x"), b"1")?;
        filling.put(Utf8Path::new("a//x"), b"2")
    });
    let message = desk.refusal(twice);
    assert!(
        message.contains("another file of the site has that name"),
        "{message}"
    );
    assert_eq!(desk.beside(), Vec::<String>::new());
}

#[cfg(unix)]
#[test]
fn a_web_server_may_read_it() {
    use std::os::unix::fs::PermissionsExt;
    let desk = Desk::new();
    desk.bind("1").unwrap();
    for entry in WalkDir::new(desk.at("bound")) {
        let entry = entry.unwrap();
        let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
        let expected = if entry.file_type().is_dir() {
            0o755
        } else {
            0o644
        };
        assert_eq!(mode, expected, "{:o} {}", mode, entry.path().display());
    }
}

#[cfg(unix)]
#[test]
fn a_file_that_is_the_same_is_kept_unless_it_has_another_name() {
    use std::os::unix::fs::MetadataExt;
    let desk = Desk::new();
    let number = |path: &str| fs::metadata(desk.at(path)).unwrap().ino();
    desk.bind("1").unwrap();
    let before = number("bound/look.css");
    desk.bind("2").unwrap();
    assert_eq!(number("bound/look.css"), before);
    assert_eq!(tree(&desk.at("bound")), complete("2"));
    // What somebody may change under another name is written anew.
    fs::hard_link(desk.at("bound/look.css"), desk.at("mine.css")).unwrap();
    desk.bind("3").unwrap();
    assert_ne!(number("bound/look.css"), before);
    fs::write(desk.at("mine.css"), "changed").unwrap();
    assert_eq!(tree(&desk.at("bound")), complete("3"));
}

#[test]
fn a_folder_of_somebody_else_is_refused() {
    let desk = Desk::new();
    fs::create_dir(desk.at("bound")).unwrap();
    fs::write(desk.at("bound/thesis.txt"), "years of work").unwrap();
    assert_eq!(
        desk.refusal(desk.bind("1")),
        "`bound` has files in it that Ohmbook did not write, and they would be lost; \
         name an empty or a new folder"
    );
    assert_eq!(
        fs::read_to_string(desk.at("bound/thesis.txt")).unwrap(),
        "years of work"
    );
    assert_eq!(desk.beside(), ["bound"]);
}

#[test]
fn files_put_into_a_site_are_named_and_kept() {
    let desk = Desk::new();
    desk.bind("1").unwrap();
    fs::write(desk.at("bound/boards/a/notes.txt"), "mine").unwrap();
    fs::create_dir(desk.at("bound/.git")).unwrap();
    fs::write(desk.at("bound/.git/HEAD"), "mine too").unwrap();
    let before = tree(&desk.at("bound"));
    assert_eq!(
        desk.refusal(desk.bind("2")),
        "`bound` holds what Ohmbook did not write, and it would be lost: `.git/`, \
         `boards/a/notes.txt`; move it elsewhere, or into the notebook if it belongs to the site"
    );
    assert_eq!(tree(&desk.at("bound")), before);

    fs::remove_dir_all(desk.at("bound/.git")).unwrap();
    fs::remove_file(desk.at("bound/boards/a/notes.txt")).unwrap();
    // What a desktop puts into a folder that is looked at does not count, and
    // neither does a file of the site that somebody removed.
    fs::write(desk.at("bound/boards/.DS_Store"), "litter").unwrap();
    fs::remove_file(desk.at("bound/look.css")).unwrap();
    desk.bind("2").unwrap();
    assert_eq!(tree(&desk.at("bound")), complete("2"));
    assert_eq!(desk.beside(), ["bound"]);
}

#[test]
fn many_files_are_counted_and_not_all_named() {
    let desk = Desk::new();
    desk.bind("1").unwrap();
    for number in 0..9 {
        fs::write(desk.at(&format!("bound/{number}.txt")), "").unwrap();
    }
    let message = desk.refusal(desk.bind("2"));
    assert!(
        message.contains("`0.txt`, `1.txt`, `2.txt`, `3.txt`, `4.txt` and 4 more;"),
        "{message}"
    );
}

#[test]
fn a_file_that_arrives_in_the_last_moment_is_not_removed() {
    let desk = Desk::new();
    desk.bind("1").unwrap();
    let late = desk.at("bound/boards/late.txt");
    let hand = Hand::guided(|step, _| match step {
        Step::Exchange => fs::write(&late, "late"),
        _ => Ok(()),
    });
    let written = site("2")
        .write_by(&hand, &desk.at("bound"), &desk.at("content"))
        .unwrap();
    assert_eq!(tree(&desk.at("bound")), complete("2"));
    let [left] = written.left.as_slice() else {
        panic!("{:?}", written.left);
    };
    assert_eq!(
        fs::read_to_string(left.join("site/boards/late.txt")).unwrap(),
        "late"
    );

    // It is told of at every run until somebody takes the file out.
    let again = desk.bind("3").unwrap();
    assert_eq!(again.left, written.left);
    fs::remove_file(left.join("site/boards/late.txt")).unwrap();
    assert_eq!(desk.bind("4").unwrap().left, Vec::<Utf8PathBuf>::new());
    assert_eq!(desk.beside(), ["bound"]);
}

#[test]
fn a_file_in_the_place_of_the_folder_is_refused() {
    let desk = Desk::new();
    fs::write(desk.at("bound"), "a file").unwrap();
    assert_eq!(
        desk.refusal(desk.bind("1")),
        "`bound` is not a folder; name another, or move the file away"
    );
    let below = site("1").write(&desk.at("bound/site"), &desk.at("content"));
    let message = desk.refusal(below);
    assert!(
        message.starts_with("cannot make the folder `bound`"),
        "{message}"
    );
    assert_eq!(fs::read_to_string(desk.at("bound")).unwrap(), "a file");
}

#[cfg(unix)]
#[test]
fn a_link_in_the_place_of_the_folder_is_refused_and_one_above_it_is_not() {
    let desk = Desk::new();
    fs::create_dir(desk.at("elsewhere")).unwrap();
    std::os::unix::fs::symlink(desk.at("elsewhere"), desk.at("bound")).unwrap();
    assert_eq!(
        desk.refusal(desk.bind("1")),
        "`bound` is a symbolic link; name the folder that it leads to instead"
    );
    site("1")
        .write(&desk.at("bound/site"), &desk.at("content"))
        .unwrap();
    assert_eq!(tree(&desk.at("elsewhere/site")), complete("1"));
}

#[test]
fn the_site_and_the_notebook_are_kept_apart() {
    let desk = Desk::new();
    let content = desk.at("content");
    for to in ["content", "content/bound", "content/new/../bound", ""] {
        let result = site("1").write(&desk.at(to), &content);
        let is_refused = matches!(
            result,
            Err(BindError::Overlap { .. } | BindError::Unnamed { .. })
        );
        assert!(is_refused, "{to}: {result:?}");
    }
    // A name that only begins alike is another folder.
    site("1")
        .write(&desk.at("content-bound"), &content)
        .unwrap();
    assert_eq!(tree(&content).len(), 1, "the notebook is as it was");
    let nameless = site("1").write(Utf8Path::new("/"), &content);
    assert!(matches!(
        nameless,
        Err(BindError::Unnamed { .. } | BindError::Overlap { .. })
    ));
}

#[test]
fn paths_that_lead_out_or_collide_are_refused() {
    let desk = Desk::new();
    let refused = |paths: &[&str]| {
        let site = Site {
            files: paths
                .iter()
                .map(|path| ((*path).into(), Vec::new()))
                .collect(),
        };
        desk.refusal(site.write(&desk.at("bound"), &desk.at("content")))
    };
    for path in ["../x", "/x", "a/../../x", "", "a\\b"] {
        assert!(
            refused(&[path]).contains("does not name a file within the site"),
            "{path}"
        );
    }
    assert!(refused(&["bound-by-ohmbook.json"]).contains("list of the site's files"));
    assert!(refused(&["a", "a.css", "a/b"]).contains("the name of its folder"));
    assert_eq!(desk.beside(), Vec::<String>::new());
}

#[test]
fn a_list_that_cannot_be_relied_on_is_no_licence_to_remove() {
    let desk = Desk::new();
    let treasure = desk.at("treasure");
    fs::write(&treasure, "gold").unwrap();
    let with_files = |files: &str| {
        format!("{{\"form\": \"ohmbook-binding\", \"version\": 1, \"files\": [{files}]}}")
    };
    let bad_markers = [
        String::new(),
        "{\"form\": \"something-else\", \"version\": 1, \"files\": []}".to_owned(),
        "{\"form\": \"ohmbook-binding\", \"version\": 2, \"files\": []}".to_owned(),
        with_files("\"../treasure\""),
    ];
    for text in bad_markers {
        fs::create_dir_all(desk.at("bound")).unwrap();
        fs::write(desk.at("bound").join(MARKER), &text).unwrap();
        let message = desk.refusal(desk.bind("1"));
        assert!(
            message.contains("does not say which files Ohmbook wrote"),
            "{message}"
        );
    }
    fs::write(desk.at("bound").join(MARKER), with_files("\"a/b\"")).unwrap();
    #[cfg(unix)]
    {
        // A link to a folder outside is not followed, whatever the list says.
        fs::create_dir(desk.at("outside")).unwrap();
        fs::write(desk.at("outside/b"), "silver").unwrap();
        std::os::unix::fs::symlink(desk.at("outside"), desk.at("bound/a")).unwrap();
        assert!(matches!(desk.bind("1"), Err(BindError::Foreign { .. })));
        marker::remove_site(&Hand::free(), &desk.at("bound"), &desk.at("listed"));
        assert_eq!(fs::read_to_string(desk.at("outside/b")).unwrap(), "silver");
    }
    assert_eq!(fs::read_to_string(treasure).unwrap(), "gold");
}
