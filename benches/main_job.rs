//! The main job on the three-level example, stage by stage and whole.
//!
//! `cargo bench` prints the medians. Meshes and solids stand side by side in one run.
#![allow(clippy::unwrap_used, missing_docs)]

use coldstep::dies::tooling;
use coldstep::forming::compensate;
use coldstep::geometry::solid;
use coldstep::job::Job;
use coldstep::output::folder::folder;
use coldstep::output::paper::Printing;
use coldstep::part::{Part, parse};
use coldstep::stock::bending_section::SheetSection;
use coldstep::stock::{Material, Metal, Temper};
use divan::{Bencher, black_box};

const SOURCE: &str = include_str!("../examples/three-levels.toml");

fn main() {
    divan::main();
}

fn part() -> Part {
    parse(SOURCE).unwrap().value
}

#[divan::bench]
fn a_read_and_check_the_part_file() -> Part {
    part()
}

#[divan::bench]
fn b_gaps(bencher: Bencher) {
    let part = part();
    bencher.bench(|| coldstep::fit::fit(black_box(&part)));
}

#[divan::bench]
fn c_blank(bencher: Bencher) {
    let part = part();
    bencher.bench(|| coldstep::blank::blank(black_box(&part)));
}

/// Layout, both meshes, closedness, volumes, overhang in three poses.
#[divan::bench]
fn d_die_pair_with_all_checks(bencher: Bencher) {
    let part = part();
    let compensation = compensate(&part).value;
    bencher.bench(|| tooling(black_box(&part), &compensation).unwrap());
}

/// Meshes of both blocks alone, closedness checked.
#[divan::bench]
fn e_meshes_of_the_pair(bencher: Bencher) {
    let part = part();
    let pair = tooling(&part, &compensate(&part).value).unwrap().value;
    let bodies: Vec<_> = pair.blocks.iter().map(|block| block.shape.body()).collect();
    bencher.bench(|| {
        for body in &bodies {
            black_box(body.mesh().unwrap());
        }
    });
}

/// Exact solids of both blocks.
#[divan::bench]
fn f_solids_of_the_pair(bencher: Bencher) {
    let part = part();
    let pair = tooling(&part, &compensate(&part).value).unwrap().value;
    let bodies: Vec<_> = pair.blocks.iter().map(|block| block.shape.body()).collect();
    bencher.bench(|| {
        for body in &bodies {
            black_box(solid::solid(body).unwrap());
        }
    });
}

/// All files of `make`, in memory.
#[divan::bench]
fn g_all_files(bencher: Bencher) {
    let job = Job::read(SOURCE).unwrap();
    bencher.bench(|| folder(black_box(&job), &Printing::default()).unwrap());
}

/// From text to all files, in memory.
#[divan::bench]
fn h_whole_job() {
    black_box(folder(&Job::read(black_box(SOURCE)).unwrap(), &Printing::default()).unwrap());
}

/// One bend of hard copper that keeps a radius of one thickness: what `blank` and `forming` ask for each bend.
#[divan::bench]
fn i_bent_section(bencher: Bencher) {
    let metal = Metal::stock(Material::Copper, Temper::Hard).unwrap();
    let law = metal.hardening().law;
    bencher.bench(|| {
        SheetSection::new(1.0, metal.youngs_mpa, metal.poisson, black_box(law))
            .bent_to_keep(black_box(1.0))
            .unwrap()
    });
}
