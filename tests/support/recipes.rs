//! The recipes in `fixtures/recipes`.

use std::path::{Path, PathBuf};

use teleassay::demo::{DemoError, Recipe};

/// The folder of recipes.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/recipes")
}

/// Loads a recipe by its file's name.
pub fn load(name: &str) -> Result<Recipe, DemoError> {
    Recipe::load(&folder().join(name))
}

/// Names of all recipes, sorted.
pub fn names() -> std::io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder())? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if Path::new(&name).extension().is_some_and(|e| e == "json" || e == "toml") {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}
