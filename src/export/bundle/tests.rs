use std::collections::BTreeMap;
use std::fs;
use std::sync::Arc;

use super::fault::{Fault, FaultKind};
use super::*;

type Tree = BTreeMap<String, String>;

fn artifact(path: &str, text: &str) -> Artifact {
    Artifact { path: path.to_owned(), bytes: text.as_bytes().to_vec() }
}

/// Every file and folder below a folder; folders end with a stroke.
fn tree(folder: &Path) -> Tree {
    let mut found = Tree::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
            if fs::symlink_metadata(&path).unwrap().is_dir() {
                found.insert(name + "/", String::new());
                folders.push(path);
            } else {
                found.insert(name, fs::read_to_string(&path).unwrap_or_default());
            }
        }
    }
    found
}

fn disk(kind: FaultKind, at: usize) -> (Disk, Arc<Fault>) {
    let fault = Arc::new(Fault::new(kind, at));
    (Disk { fault: Some(fault.clone()) }, fault)
}

/// A folder in memory where the system has one: thousands are made here, each with a dozen files.
fn scratch() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

/// A disk without faults that does not wait either.
fn sound() -> Disk {
    disk(FaultKind::Fail, usize::MAX).0
}

/// Builds the files of one or two specs into a folder.
fn build(disk: Disk, outs: &[PathBuf], word: &str) -> Result<Vec<Vec<String>>, BundleError> {
    let bundle = Bundle::open(disk, outs, Duration::ZERO)?;
    for (index, out) in outs.iter().enumerate() {
        let name = out.file_name().unwrap().to_str().unwrap();
        let files = match word {
            "old" => ["plan.json", "a.txt", "runs/gone/tube.step"],
            _ => ["plan.json", "a.txt", "runs/new/tube.step"],
        };
        for file in files {
            bundle.add(index, &artifact(file, &format!("{word} {file} of {name}")))?;
        }
    }
    bundle.put_in_place()
}

fn mend_all(outs: &[PathBuf]) {
    for out in outs {
        mend_with(&sound(), out).unwrap();
    }
}

/// A folder as a build of the word "old" and a person leave it, and as one of "new" then should.
fn before_and_after(outs: &[&str]) -> (Tree, Tree) {
    let tree_after = |words: &[&str]| {
        let folder = scratch();
        let outs = prepared(folder.path(), outs);
        for word in words {
            build(sound(), &outs, word).unwrap();
        }
        tree(folder.path())
    };
    (tree_after(&["old"]), tree_after(&["old", "new"]))
}

fn prepared(folder: &Path, outs: &[&str]) -> Vec<PathBuf> {
    let outs: Vec<PathBuf> = outs.iter().map(|out| folder.join(out)).collect();
    for out in &outs {
        fs::create_dir_all(out).unwrap();
        fs::write(out.join("mine.txt"), "keep").unwrap();
    }
    outs
}

/// Kills a build of "new" at every step, and whoever mends it at every step of that, and then lets it be mended.
fn kill_everywhere(names: &[&str]) {
    let (old, new) = before_and_after(names);
    assert_ne!(old, new);
    let (mut seen_old, mut seen_new) = (0, 0);
    for first in 0.. {
        let mut last = false;
        // Every third step of mending two folders: they are many, and much alike.
        for second in (0..).step_by(2 * names.len() - 1) {
            let folder = scratch();
            let outs = prepared(folder.path(), names);
            build(sound(), &outs, "old").unwrap();
            let (killed, fault) = disk(FaultKind::Kill, first);
            let ended = build(killed, &outs, "new");
            last = !fault.hit();
            assert_eq!(ended.is_ok() && last, last, "a build that is not killed works");
            // Mended from any of the folders.
            let from = &outs[second % outs.len()];
            let (killed, fault) = disk(FaultKind::Kill, second / outs.len());
            drop(mend_with(&killed, from));
            mend_all(&outs);
            let found = tree(folder.path());
            assert!(found == old || found == new, "{names:?} {first} {second}: {found:#?}");
            if found == old {
                seen_old += 1;
            } else {
                seen_new += 1;
            }
            if !fault.hit() {
                break;
            }
        }
        if last {
            break;
        }
    }
    assert!(seen_old > 100 && seen_new > 100, "{seen_old} {seen_new}");
}

#[test]
fn a_build_killed_anywhere_is_whole_once_mended() {
    kill_everywhere(&["out"]);
}

#[test]
fn several_folders_killed_anywhere_are_all_old_or_all_new() {
    kill_everywhere(&["one", "two"]);
}

#[test]
fn the_next_build_mends_too() {
    for at in 0.. {
        let folder = scratch();
        let outs = prepared(folder.path(), &["one", "two"]);
        build(sound(), &outs, "old").unwrap();
        let (killed, fault) = disk(FaultKind::Kill, at);
        drop(build(killed, &outs, "new"));
        if !fault.hit() {
            break;
        }
        // Alone, into the folder that did not lead.
        build(sound(), &outs[1..], "old").unwrap();
        let found = tree(folder.path());
        assert_eq!(found["two/a.txt"], "old a.txt of two", "{at}");
        let one: Vec<bool> =
            ["a.txt", "plan.json"].iter().map(|f| found[&format!("one/{f}")].starts_with("new")).collect();
        mend(&outs[0]).unwrap();
        assert!(one.iter().all(|new| *new == one[0]), "{at}: {found:#?}");
        assert!(!tree(folder.path()).keys().any(|name| name.contains(lock::STATE)), "{at}");
    }
}

#[test]
fn a_step_that_fails_leaves_all_as_it_was() {
    for names in [&["out"][..], &["one", "two"]] {
        let (old, new) = before_and_after(names);
        let mut failed = 0;
        for at in 0.. {
            let folder = scratch();
            let outs = prepared(folder.path(), names);
            build(sound(), &outs, "old").unwrap();
            let (failing, fault) = disk(FaultKind::Fail, at);
            let built = build(failing, &outs, "new");
            mend_all(&outs);
            failed += usize::from(built.is_err());
            // Where taking back fails too, the next command finishes the one or the other.
            let found = tree(folder.path());
            assert!(found == old || found == new, "{names:?} {at}: {found:#?}");
            assert!(built.is_err() || found == new, "{names:?} {at}");
            if !fault.hit() {
                break;
            }
        }
        assert!(failed > 20, "{failed}");
    }
}

#[test]
fn a_first_build_killed_anywhere_leaves_no_more_than_its_folder() {
    for at in 0.. {
        let folder = scratch();
        let outs = [folder.path().join("deep/out")];
        let (killed, fault) = disk(FaultKind::Kill, at);
        drop(build(killed, &outs, "new"));
        mend_with(&sound(), &outs[0]).unwrap();
        let found = tree(folder.path());
        let files = found.keys().filter(|name| !name.ends_with('/')).count();
        assert!(files == 0 || files == 3, "{at}: {found:#?}");
        assert!(files == 3 || found.len() <= 2, "{at}: {found:#?}");
        assert!(!found.keys().any(|name| name.contains(lock::STATE)), "{at}: {found:#?}");
        if !fault.hit() {
            break;
        }
    }
}

#[test]
fn plan_json_is_placed_last() {
    let folder = scratch();
    let out = [folder.path().join("out")];
    let mut seen = Vec::new();
    for at in 0.. {
        let (killed, fault) = disk(FaultKind::Kill, at);
        drop(build(killed, &out, "new"));
        let found = tree(folder.path());
        seen.push(found.contains_key("out/plan.json"));
        let others = ["out/a.txt", "out/runs/new/tube.step"].iter().all(|name| found.contains_key(*name));
        assert!(others || !found.contains_key("out/plan.json"), "{at}");
        drop(fs::remove_dir_all(&out[0]));
        if !fault.hit() {
            break;
        }
    }
    assert!(seen.contains(&true) && seen.contains(&false));
}

#[test]
fn a_folder_is_built_into_by_one_at_a_time() {
    let folder = scratch();
    let out = [folder.path().join("out")];
    let first = Bundle::open(sound(), &out, Duration::ZERO).unwrap();
    first.add(0, &artifact("a", "first")).unwrap();
    assert!(matches!(Bundle::open(sound(), &out, Duration::ZERO), Err(BundleError::Busy { .. })));
    assert_eq!(mend(&out[0]).unwrap(), None);
    assert_eq!(first.put_in_place().unwrap(), [["a"]]);
    drop(Bundle::open(sound(), &out, Duration::ZERO).unwrap());
    assert_eq!(tree(&out[0]).into_iter().collect::<Vec<_>>(), [("a".into(), "first".into())]);
}

#[test]
fn a_folder_named_twice_is_refused() {
    let folder = scratch();
    let outs = [folder.path().join("out"), folder.path().join("./out")];
    assert!(matches!(Bundle::new(&outs), Err(BundleError::Shared { .. })));
    assert!(tree(folder.path()).is_empty());
}

#[test]
fn names_that_leave_the_folder_are_refused() {
    let folder = scratch();
    let bundle = Bundle::new(&[folder.path().join("out")]).unwrap();
    for path in ["../a", "/a", "a/../../b", "", "a\\b", "c:/x", "./a/.."] {
        assert!(matches!(bundle.add(0, &artifact(path, "")), Err(BundleError::Escapes { .. })), "{path}");
    }
    assert!(matches!(bundle.add(0, &artifact("a/b", "")), Ok(())));
    assert!(matches!(bundle.add(0, &artifact("a/b", "")), Err(BundleError::Twice { .. })));
    bundle.abandon();
    assert!(matches!(bundle.add(0, &artifact("c", "")), Err(BundleError::Ended)));
}

#[test]
fn a_dropped_bundle_leaves_no_trace() {
    let folder = scratch();
    let bundle = Bundle::new(&[folder.path().join("deep/out")]).unwrap();
    bundle.add(0, &artifact("a", "1")).unwrap();
    drop(bundle);
    assert!(tree(folder.path()).is_empty());
}

#[test]
fn folders_and_files_in_the_way_stop_a_build() {
    for in_the_way in ["b/", "aa"] {
        let folder = scratch();
        let out = folder.path();
        fs::write(out.join("a"), "old").unwrap();
        match in_the_way.strip_suffix('/') {
            Some(name) => fs::create_dir(out.join(name)).unwrap(),
            None => fs::write(out.join(in_the_way), "mine").unwrap(),
        }
        let before = tree(out);
        let bundle = Bundle::new(&[out.to_owned()]).unwrap();
        for file in ["a", "aa/x", "b"] {
            bundle.add(0, &artifact(file, "new")).unwrap();
        }
        assert!(matches!(bundle.put_in_place(), Err(BundleError::InTheWay { .. })));
        assert_eq!(tree(out), before);
    }
}

#[test]
fn a_damaged_journal_is_said_and_nothing_is_removed() {
    let folder = scratch();
    let out = [folder.path().to_owned()];
    for text in ["{", r#"{"id":"x","folders":[],"files":[["../../a",0]],"lead":null,"others":[]}"#] {
        fs::create_dir_all(folder.path().join(lock::STATE).join("old")).unwrap();
        fs::write(folder.path().join(lock::STATE).join("old/0"), "the only copy").unwrap();
        fs::write(folder.path().join(lock::STATE).join("go.json"), text).unwrap();
        let refused = Bundle::new(&out);
        assert!(
            matches!(refused, Err(BundleError::Damaged { .. } | BundleError::Escapes { .. })),
            "{refused:?}"
        );
        assert!(tree(folder.path()).values().any(|text| text == "the only copy"));
    }
}

#[cfg(unix)]
#[test]
fn nothing_is_written_through_links_inside_the_folder() {
    let folder = scratch();
    let (out, elsewhere) = (folder.path().join("out"), folder.path().join("elsewhere"));
    fs::create_dir(&out).unwrap();
    fs::create_dir(&elsewhere).unwrap();
    std::os::unix::fs::symlink(&elsewhere, out.join("runs")).unwrap();
    let bundle = Bundle::new(std::slice::from_ref(&out)).unwrap();
    bundle.add(0, &artifact("runs/a/tube.step", "1")).unwrap();
    let refused = bundle.put_in_place().unwrap_err().to_string();
    assert!(refused.contains("runs: it is a link"), "{refused}");
    assert!(tree(&elsewhere).is_empty());
    // A link in place of a file is replaced, and where it leads is not touched.
    fs::write(folder.path().join("other"), "theirs").unwrap();
    std::os::unix::fs::symlink(folder.path().join("other"), out.join("a")).unwrap();
    let bundle = Bundle::new(std::slice::from_ref(&out)).unwrap();
    bundle.add(0, &artifact("a", "ours")).unwrap();
    bundle.put_in_place().unwrap();
    assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "ours");
    assert_eq!(fs::read_to_string(folder.path().join("other")).unwrap(), "theirs");
    // The folder of the bundle's own is no exception.
    std::os::unix::fs::symlink(&elsewhere, out.join(lock::STATE)).unwrap();
    assert!(matches!(Bundle::new(&[out]), Err(BundleError::InTheWay { .. })));
}

#[cfg(unix)]
#[test]
fn paths_that_lead_nowhere_are_said() {
    let folder = scratch();
    std::os::unix::fs::symlink("gone", folder.path().join("link")).unwrap();
    for (out, said) in [
        ("link", "link is a link to gone, which does not exist"),
        ("link/x", "link is a link to gone, which does not exist"),
        ("missing/../x", "missing, which does not exist"),
    ] {
        let refused = Bundle::new(&[folder.path().join(out)]).unwrap_err().to_string();
        assert!(refused.contains(said), "{refused}");
    }
    fs::write(folder.path().join("file"), "").unwrap();
    let refused = Bundle::new(&[folder.path().join("new/../file")]).unwrap_err().to_string();
    assert!(refused.contains("new, which does not exist"), "{refused}");
    let refused = Bundle::new(&[folder.path().join("file/x")]).unwrap_err().to_string();
    assert!(refused.contains("file: it is a file, not a folder"), "{refused}");
    assert_eq!(tree(folder.path()).len(), 2, "nothing was made");
}
