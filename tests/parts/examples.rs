//! The bundled examples are taken without a finding, and every gap in them is as it should be.

#[test]
fn every_example_is_a_good_part() {
    let mut count = 0;
    for entry in std::fs::read_dir("examples").unwrap() {
        let path = entry.unwrap().path();
        let source = std::fs::read_to_string(&path).unwrap();
        let part = coldstep::part::parse(&source)
            .unwrap_or_else(|findings| panic!("{}: {findings:#?}", path.display()));
        assert_eq!(part.notes, [], "{}", path.display());
        let fit = coldstep::fit::fit(&part.value);
        assert!(fit.is_good(), "{}: {fit:#?}", path.display());
        count += 1;
    }
    assert!(count >= 3);
}
