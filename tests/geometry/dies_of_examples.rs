//! The bundled examples as dies: closed meshes, exact solids, volumes, openings.

use coldstep::dies::tooling;
use coldstep::forming::compensate;
use coldstep::geometry::solid::solid;
use coldstep::part::parse;

#[test]
fn every_example_becomes_a_pair_of_closed_blocks() {
    for entry in std::fs::read_dir("examples").unwrap() {
        let path = entry.unwrap().path();
        let part = parse(&std::fs::read_to_string(&path).unwrap())
            .unwrap()
            .value;
        let compensation = compensate(&part).value;
        let tooling = tooling(&part, &compensation).unwrap_or_else(|e| panic!("{e:#?}"));
        assert_eq!(tooling.notes, [], "{}", path.display());
        for block in &tooling.value.blocks {
            block.mesh.check_closed().unwrap();
            let share = block.volume_mm3 / block.exact_volume_mm3 - 1.0;
            assert!(share.abs() < 1e-3, "{}: {share}", path.display());
            solid(&block.shape.body()).unwrap();
        }
    }
}
