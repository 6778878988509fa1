//! Another program at work on the same files: a sync program, a backup tool, another machine.

use super::World;
use crate::dice::Dice;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// A program that comes by before file operations and now and then replaces, cuts, deletes or brings back an older version
/// of a file, or puts there what was made on another machine. What it does lasts at once.
#[derive(Debug)]
pub struct Neighbour {
    dice: Dice,
    /// How rarely it does something.
    one_in: usize,
    /// What it looks after: paths, and folders of paths.
    cares_for: Vec<PathBuf>,
    /// What it brings: whole files of another machine, by the path they go to.
    works: Vec<(PathBuf, Vec<u8>)>,
    versions: Vec<(PathBuf, Vec<u8>)>,
    /// Works it brought and did not itself take away again.
    brought: Vec<Vec<u8>>,
    deeds: usize,
    story: Vec<String>,
}

impl Neighbour {
    /// One that looks after these paths, and after all in these folders; it acts before one in so many operations.
    pub fn new(seed: u64, one_in: usize, cares_for: &[&str]) -> Self {
        Self {
            dice: Dice::new(seed),
            one_in,
            cares_for: cares_for.iter().map(PathBuf::from).collect(),
            works: Vec::new(),
            versions: Vec::new(),
            brought: Vec::new(),
            deeds: 0,
            story: Vec::new(),
        }
    }

    /// It brings this file too, once.
    #[must_use]
    pub fn bringing(mut self, path: &str, bytes: Vec<u8>) -> Self {
        self.works.push((path.into(), bytes));
        self
    }

    /// How often it did something.
    pub const fn deeds(&self) -> usize {
        self.deeds
    }

    /// What it did, before which operation.
    pub fn story(&self) -> &[String] {
        &self.story
    }

    fn tells(&mut self, world: &World, did: &str, path: &Path) {
        self.deeds += 1;
        let line = format!("before {}: {did} {}", world.operations, path.display());
        self.story.push(line);
    }

    /// What it brought from another machine and did not itself take away.
    pub fn brought(&self) -> &[Vec<u8>] {
        &self.brought
    }

    pub(super) fn come_by(&mut self, world: &mut World) {
        if !self.dice.one_in(self.one_in) {
            return;
        }
        let mine = |path: &&PathBuf| {
            let folder = path.parent();
            let name = path.to_string_lossy();
            // What a program makes on its way to a file is left alone by those that know their trade.
            !name.ends_with("-new")
                && (self.cares_for.contains(path)
                    || folder.is_some_and(|folder| self.cares_for.iter().any(|own| own == folder)))
        };
        let paths: Vec<PathBuf> = world.names.keys().filter(mine).cloned().collect();
        if !self.works.is_empty() && self.dice.one_in(4) {
            let (path, bytes) = self.works.remove(self.dice.below(self.works.len()));
            self.remember(world, &path);
            world.put(&path, &bytes);
            self.brought.push(bytes);
            self.tells(world, "brings", &path);
            return;
        }
        let Some(path) = self.dice.pick(&paths).cloned() else {
            return;
        };
        self.remember(world, &path);
        match self.dice.below(5) {
            0 => {
                let length = self
                    .dice
                    .below(self.versions[self.versions.len() - 1].1.len() + 1);
                world.cut(&path, length);
                self.tells(world, "cuts", &path);
            }
            1 => {
                world.delete(&path);
                self.tells(world, "deletes", &path);
            }
            2 => {
                let bytes = self.versions[self.versions.len() - 1].1.clone();
                let length = self.dice.below(bytes.len() + 1);
                world.put(&path, &bytes[..length]);
                self.tells(world, "replaces by a part", &path);
            }
            _ => {
                let (path, bytes) = self.versions[self.dice.below(self.versions.len())].clone();
                self.remember(world, &path);
                world.put(&path, &bytes);
                self.tells(world, "brings back", &path);
            }
        }
    }

    /// Keeps what stands there as a version, and forgets that it brought it: now it takes it away.
    fn remember(&mut self, world: &World, path: &Path) {
        let Some(inode) = world.names.get(path) else {
            return;
        };
        let bytes = world.inodes[*inode].live.clone();
        // Also where it was gone on with in its place: then it is all there, line by line.
        let lines: BTreeSet<&[u8]> = bytes.split(|byte| *byte == b'\n').collect();
        let is_there = |brought: &[u8]| {
            brought
                .split(|byte| *byte == b'\n')
                .all(|line| lines.contains(line))
        };
        self.brought.retain(|brought| !is_there(brought));
        self.versions.push((path.into(), bytes));
    }
}
