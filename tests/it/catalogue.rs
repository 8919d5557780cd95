//! Catalogue, stock and protocol files: what is taken, and every fault that is told.

use boxcall::catalogue::{self, demo, product};

fn owned() -> Vec<(String, String)> {
    demo::files().into_iter().map(|(name, text)| (name.to_string(), text.to_string())).collect()
}

fn demo_catalogue() -> catalogue::Catalogue {
    catalogue::read(&owned()).unwrap_or_else(|faults| panic!("{}", lines(&faults)))
}

fn lines(faults: &[boxcall::intake::Fault]) -> String {
    faults.iter().map(|fault| format!("{fault}\n")).collect()
}

#[test]
fn the_demo_catalogues_are_read_without_a_fault() {
    let catalogue = demo_catalogue();
    assert_eq!(catalogue.guides.len(), 4);
    assert!(catalogue.products.windows(2).all(|pair| pair[0].id < pair[1].id));
    for (name, text) in demo::files().into_iter().filter(|(name, _)| *name != "guides.toml") {
        let product = product::read(name, text).unwrap_or_else(|faults| panic!("{}", lines(&faults)));
        assert_eq!(Some(&product), catalogue.product(name.trim_end_matches(".toml")));
    }
}

#[test]
fn the_folder_and_the_list_of_demo_files_agree() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/catalogues");
    let mut names: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.retain(|name| name.to_string_lossy().ends_with(".toml"));
    names.sort();
    let listed: Vec<_> = demo::files().into_iter().map(|(name, _)| std::ffi::OsString::from(name)).collect();
    assert_eq!(listed, names);
}
