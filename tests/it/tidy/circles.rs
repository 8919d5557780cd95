//! Dependencies between the files of one top-level module: none may form a circle.
//!
//! Every file under `src` is a module and a node of a graph. A file depends on another when its code names an item that
//! the other defines, whatever path it takes: a name is followed through `use` and re-exports to where it is defined.
//! So a child that names a type or a function of its parent depends on the parent, and a parent that calls into a
//! child depends on the child; both together are a circle. What does not count:
//!
//! - a `mod` declaration, and a `pub use` of something below the own module: a parent may present its children;
//! - `pub(super)` and other visibilities;
//! - tests (`#[cfg(test)]`), which may know anything; comments and strings.
//!
//! What this can't see: methods called on a value (an `impl` block beside the type's definition is part of it), and
//! paths that a macro puts together. Circles between top-level modules are impossible by the order in `src/lib.rs`.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::Path;

use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// The path of a module: `["store", "read"]`; the crate itself is empty.
type Module = Vec<String>;

/// One `use`: the name it brings in, the whole path, and whether others may see it.
struct Import {
    name: String,
    path: Vec<String>,
    public: bool,
    line: usize,
}

/// What one file defines, brings in and names.
#[derive(Default)]
struct Unit {
    file: String,
    items: BTreeSet<String>,
    imports: Vec<Import>,
    globs: Vec<Import>,
    /// Paths named in the code, with their lines.
    paths: Vec<(Vec<String>, usize)>,
    /// The modules it declares, and those of them that hold tests alone.
    children: BTreeSet<String>,
    tests: BTreeSet<String>,
}

fn is_test(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("cfg")
            && attribute.parse_args::<syn::Path>().is_ok_and(|path| path.is_ident("test"))
    })
}

fn line_of(node: &impl Spanned) -> usize {
    node.span().start().line
}

fn segments(path: &syn::Path) -> Vec<String> {
    path.segments.iter().map(|segment| segment.ident.to_string()).collect()
}

impl Unit {
    fn read(file: &str, text: &str) -> Unit {
        let tree = syn::parse_file(text).unwrap_or_else(|error| panic!("{file}: {error}"));
        let mut unit = Unit { file: file.into(), ..Unit::default() };
        unit.visit_file(&tree);
        unit
    }

    fn bring_in(&mut self, tree: &syn::UseTree, before: &[String], public: bool) {
        let with = |ident: &syn::Ident| [before, &[ident.to_string()]].concat();
        let line = line_of(tree);
        let mut import = |name: String, path| self.imports.push(Import { name, path, public, line });
        match tree {
            syn::UseTree::Path(path) => self.bring_in(&path.tree, &with(&path.ident), public),
            syn::UseTree::Group(group) => {
                group.items.iter().for_each(|tree| self.bring_in(tree, before, public));
            }
            syn::UseTree::Name(name) if name.ident == "self" => {
                import(before.last().cloned().unwrap_or_default(), before.to_vec());
            }
            syn::UseTree::Name(name) => import(name.ident.to_string(), with(&name.ident)),
            syn::UseTree::Rename(rename) => import(rename.rename.to_string(), with(&rename.ident)),
            syn::UseTree::Glob(_) => {
                self.globs.push(Import { name: String::new(), path: before.to_vec(), public, line });
            }
        }
    }

    /// Paths among the words of a macro's call: words joined by `::`.
    fn words(&mut self, tokens: proc_macro2::TokenStream) {
        use proc_macro2::TokenTree;
        let (mut path, mut line, mut colons, mut after_dot) = (Vec::new(), 0, 0, false);
        for token in tokens {
            match token {
                TokenTree::Ident(ident) => {
                    if colons != 2 {
                        self.name(std::mem::take(&mut path), line);
                    }
                    if path.is_empty() {
                        line = ident.span().start().line;
                    }
                    if !after_dot {
                        path.push(ident.to_string());
                    }
                    (colons, after_dot) = (0, false);
                }
                TokenTree::Punct(punct) if punct.as_char() == ':' => colons += 1,
                other => {
                    self.name(std::mem::take(&mut path), line);
                    colons = 0;
                    after_dot = matches!(&other, TokenTree::Punct(punct) if punct.as_char() == '.');
                    if let TokenTree::Group(group) = other {
                        self.words(group.stream());
                    }
                }
            }
        }
        self.name(path, line);
    }

    fn name(&mut self, path: Vec<String>, line: usize) {
        if !path.is_empty() {
            self.paths.push((path, line));
        }
    }
}

impl<'ast> Visit<'ast> for Unit {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        let (attributes, ident): (&[_], Option<&syn::Ident>) = match item {
            syn::Item::Const(item) => (&item.attrs, Some(&item.ident)),
            syn::Item::Enum(item) => (&item.attrs, Some(&item.ident)),
            syn::Item::Fn(item) => (&item.attrs, Some(&item.sig.ident)),
            syn::Item::Impl(item) => (&item.attrs, None),
            syn::Item::Macro(item) => (&item.attrs, item.ident.as_ref()),
            syn::Item::Mod(item) => (&item.attrs, None),
            syn::Item::Static(item) => (&item.attrs, Some(&item.ident)),
            syn::Item::Struct(item) => (&item.attrs, Some(&item.ident)),
            syn::Item::Trait(item) => (&item.attrs, Some(&item.ident)),
            syn::Item::Type(item) => (&item.attrs, Some(&item.ident)),
            syn::Item::Use(item) => (&item.attrs, None),
            _ => (&[], None),
        };
        if let syn::Item::Mod(item) = item {
            let declared = if is_test(attributes) { &mut self.tests } else { &mut self.children };
            declared.insert(item.ident.to_string());
        }
        if is_test(attributes) {
            return;
        }
        self.items.extend(ident.map(ToString::to_string));
        visit::visit_item(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        if !is_test(&item.attrs) {
            visit::visit_impl_item_fn(self, item);
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        self.bring_in(&item.tree, &[], !matches!(item.vis, syn::Visibility::Inherited));
    }

    fn visit_visibility(&mut self, _: &'ast syn::Visibility) {}

    fn visit_attribute(&mut self, _: &'ast syn::Attribute) {}

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        self.visit_path(&call.path);
        self.words(call.tokens.clone());
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.name(segments(path), line_of(path));
        visit::visit_path(self, path);
    }
}

fn child(module: &[String], name: &str) -> Module {
    [module, &[name.to_string()]].concat()
}

/// All files, by their modules.
struct House(BTreeMap<Module, Unit>);

/// A dependency: who names whose item, where.
type Edges = BTreeMap<Module, BTreeMap<Module, String>>;

fn module_of(file: &str) -> Module {
    let inside = file.trim_start_matches("src/").trim_end_matches(".rs");
    let mut module: Module = inside.split('/').map(String::from).collect();
    if ["mod", "lib"].contains(&module[module.len() - 1].as_str()) {
        module.pop();
    }
    module
}

impl House {
    /// The files but those that hold tests alone.
    fn read(files: &[(String, String)]) -> House {
        let mut units: BTreeMap<Module, Unit> =
            files.iter().map(|(file, text)| (module_of(file), Unit::read(file, text))).collect();
        let tests: Vec<Module> = units
            .iter()
            .flat_map(|(module, unit)| unit.tests.iter().map(move |name| child(module, name)))
            .collect();
        tests.iter().for_each(|module| drop(units.remove(module)));
        House(units)
    }

    /// Files that no `mod` declaration reaches: the compiler passes over them without a word.
    fn unreached(&self) -> Vec<&str> {
        let declared = |module: &Module| {
            module.split_last().is_none_or(|(name, parent)| {
                self.0.get(parent).is_some_and(|unit| unit.children.contains(name))
            })
        };
        self.0.iter().filter(|(module, _)| !declared(module)).map(|(_, unit)| unit.file.as_str()).collect()
    }

    /// The module that defines what `path`, written in `from`, leads to; None for another crate or a local name.
    fn defines(&self, from: &Module, path: &[String], depth: usize) -> Option<Module> {
        // A re-export that leads back to itself would never end.
        if depth > 16 {
            return None;
        }
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" => self.below(&Module::new(), rest, depth),
            "self" => self.below(from, rest, depth),
            "super" => {
                let (parent, mut path) = (from.split_last()?.1.to_vec(), rest.to_vec());
                if path.first().is_none_or(|next| next != "super") {
                    path.insert(0, "self".into());
                }
                self.defines(&parent, &path, depth)
            }
            name if self.knows(from, name) => {
                // A word alone is a value or a type, never a module.
                (!rest.is_empty() || !self.0.contains_key(&child(from, name)))
                    .then(|| self.below(from, path, depth))
                    .flatten()
            }
            _ => None,
        }
    }

    fn knows(&self, module: &Module, name: &str) -> bool {
        self.0.contains_key(&child(module, name))
            || self.0.get(module).is_some_and(|unit| {
                unit.items.contains(name)
                    || unit.imports.iter().any(|import| import.name == name)
                    || unit.globs.iter().any(|glob| self.glob_knows(module, glob, name))
            })
    }

    fn glob_knows(&self, module: &Module, glob: &Import, name: &str) -> bool {
        self.defines_module(module, &glob.path).is_some_and(|other| {
            other != *module && self.0.get(&other).is_some_and(|unit| unit.items.contains(name))
        })
    }

    /// The module that a path leads to, where it leads to one.
    fn defines_module(&self, from: &Module, path: &[String]) -> Option<Module> {
        let mut at = from.clone();
        for (index, name) in path.iter().enumerate() {
            match name.as_str() {
                "crate" if index == 0 => at = Module::new(),
                "self" if index == 0 => {}
                "super" => {
                    at.pop()?;
                }
                _ => at.push(name.clone()),
            }
        }
        self.0.contains_key(&at).then_some(at)
    }

    /// Follows a path downwards from a module.
    fn below(&self, module: &Module, path: &[String], depth: usize) -> Option<Module> {
        let unit = self.0.get(module)?;
        let Some((first, rest)) = path.split_first() else { return Some(module.clone()) };
        let child = child(module, first);
        // A module may have the name of a function that is brought in: only a module has something below it.
        if !rest.is_empty() && self.0.contains_key(&child) {
            return self.below(&child, rest, depth);
        }
        if unit.items.contains(first) {
            return Some(module.clone());
        }
        if let Some(import) = unit.imports.iter().find(|import| import.name == *first) {
            // `use super::read;` names the module `read` itself.
            return match self.defines_module(module, &import.path) {
                Some(other) => self.below(&other, rest, depth + 1),
                None => self.defines(module, &[import.path.as_slice(), rest].concat(), depth + 1),
            };
        }
        if let Some(glob) = unit.globs.iter().find(|glob| self.glob_knows(module, glob, first)) {
            return self.defines(module, &[glob.path.as_slice(), path].concat(), depth + 1);
        }
        self.0.contains_key(&child).then_some(child)
    }

    /// Who depends on whom inside one top-level module, with the lines that say so.
    fn edges(&self) -> BTreeMap<(Module, Module), BTreeSet<usize>> {
        let mut edges = BTreeMap::new();
        for (module, unit) in &self.0 {
            let imports = unit.imports.iter().chain(&unit.globs).filter_map(|import| {
                // A `use` of a module alone uses no item of it: the paths that begin with its name do.
                if self.defines_module(module, &import.path).is_some() {
                    return None;
                }
                let other = self.defines(module, &import.path, 0)?;
                let presents = import.public && other.starts_with(module);
                (!presents).then_some((other, import.line))
            });
            let paths =
                unit.paths.iter().filter_map(|(path, line)| Some((self.defines(module, path, 0)?, *line)));
            for (other, line) in imports.chain(paths) {
                if other != *module && other.first() == module.first() {
                    edges.entry((module.clone(), other)).or_insert_with(BTreeSet::new).insert(line);
                }
            }
        }
        edges
    }
}

/// The shortest circle through a module, as the modules in their order; empty where there is none.
fn circle(edges: &Edges, start: &Module) -> Vec<Module> {
    let mut before: BTreeMap<&Module, &Module> = BTreeMap::new();
    let mut queue = VecDeque::from([start]);
    while let Some(at) = queue.pop_front() {
        for next in edges.get(at).into_iter().flat_map(BTreeMap::keys) {
            if next == start {
                let mut way = vec![at.clone()];
                while way[way.len() - 1] != *start {
                    way.push(before[&way[way.len() - 1]].clone());
                }
                way.reverse();
                return way;
            }
            if !before.contains_key(next) {
                before.insert(next, at);
                queue.push_back(next);
            }
        }
    }
    Vec::new()
}

/// Every module in a circle, by the file or folder that holds it, with the shortest circle through it in words.
fn circles(files: &[(String, String)]) -> BTreeMap<String, String> {
    let house = House::read(files);
    let edges = house.edges();
    let mut graphs: Vec<Edges> = vec![Edges::new()];
    // Files against files; then, for each folder, what it holds against each other, each with all that is below it.
    for ((from, to), lines) in &edges {
        let mut add = |graph: usize, from: &[String], to: &[String], said: String| {
            graphs.resize_with(graphs.len().max(graph + 1), Edges::new);
            graphs[graph].entry(from.to_vec()).or_default().entry(to.to_vec()).or_insert(said);
        };
        let lines: Vec<String> = lines.iter().map(usize::to_string).collect();
        let said = format!("    {}:{} names {}", house.0[from].file, lines.join(","), house.0[to].file);
        add(0, from, to, said.clone());
        let shared = from.iter().zip(to).take_while(|(from, to)| from == to).count();
        if shared < from.len().min(to.len()) {
            add(1, &from[..=shared], &to[..=shared], said);
        }
    }
    let mut found = BTreeMap::new();
    for edges in &graphs {
        for module in edges.keys() {
            let way = circle(edges, module);
            let steps: Vec<&str> =
                (0..way.len()).map(|at| edges[&way[at]][&way[(at + 1) % way.len()]].as_str()).collect();
            if !steps.is_empty() {
                found.entry(house.0[module].file.clone()).or_insert(steps.join("\n"));
            }
        }
    }
    found
}

fn sources() -> Vec<(String, String)> {
    let mut files = Vec::new();
    super::sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    files.retain(|(file, _)| file != "src/main.rs");
    files
}

#[test]
fn no_file_depends_on_itself_by_way_of_others() {
    let found = circles(&sources());
    let found: Vec<String> =
        found.iter().map(|(file, way)| format!("{file} is in a circle:\n{way}")).collect();
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn every_file_is_declared_by_its_parent() {
    assert_eq!(House::read(&sources()).unreached(), Vec::<&str>::new());
    let lone = [("src/lib.rs", "pub mod a;"), ("src/a.rs", "mod b;"), ("src/a/b.rs", ""), ("src/a/c.rs", "")];
    assert_eq!(House::read(&owned(&lone)).unreached(), ["src/a/c.rs"]);
}

fn owned(files: &[(&str, &str)]) -> Vec<(String, String)> {
    files.iter().map(|(file, text)| (file.to_string(), text.to_string())).collect()
}

/// A module of three files: what its head and its two children say, and the circle that is to be found.
#[test]
fn a_circle_is_found_by_whatever_path_it_goes() {
    for (head, b, c, found) in [
        ("", "use super::c::C;", "pub struct C; use super::b::B;", ""),
        ("", "pub struct B; use super::c::C;", "pub struct C; use super::b::B;", "b.rs:1 c.rs:1"),
        ("", "pub struct B;\nfn f() { super::c::g() }", "pub fn g(_: crate::a::b::B) {}", "b.rs:2 c.rs:1"),
        (
            "",
            "pub struct B; fn f() { let _ = vec![super::c::g()]; }",
            "pub fn g(_: super::b::B) {}",
            "b.rs:1 c.rs:1",
        ),
        // By a re-export or a private import of the parent, renamed or not, or by a glob.
        ("pub use b::B;", "pub struct B; use super::c::C;", "pub struct C; use super::B;", "b.rs:1 c.rs:1"),
        (
            "use c::C as D;",
            "pub struct B; fn f(_: super::D) {}",
            "pub struct C(super::b::B);",
            "b.rs:1 c.rs:1",
        ),
        (
            "pub use b::b;",
            "pub fn b() {} use super::c::C;",
            "pub struct C; use super::b::b;",
            "b.rs:1 c.rs:1",
        ),
        (
            "pub use b::b;",
            "pub fn b() {} pub struct B; use super::c::C;",
            "pub struct C; use super::b::B;",
            "b.rs:1 c.rs:1",
        ),
        ("pub use b::*;", "pub struct B; use super::c::C;", "pub struct C; use super::B;", "b.rs:1 c.rs:1"),
        (
            "",
            "pub struct B; use super::c;\nfn f(_: c::C) {}",
            "pub struct C; use super::b::B;",
            "b.rs:2 c.rs:1",
        ),
        // The parent's own function, called by a child that the parent calls.
        ("pub fn p() {}\nfn f() { b::f() }", "pub fn f() { super::p() }", "", "mod.rs:2 b.rs:1"),
        ("pub fn p() { f() }\npub use b::f;", "pub fn f() { super::p() }", "", "mod.rs:1 b.rs:1"),
    ] {
        let files =
            [("src/lib.rs", "pub mod a;"), ("src/a/mod.rs", head), ("src/a/b.rs", b), ("src/a/c.rs", c)];
        let (head, files) = (format!("{head} mod b; mod c;"), owned(&files));
        let files: Vec<_> = files
            .into_iter()
            .map(|(file, text)| if file == "src/a/mod.rs" { (file, head.clone()) } else { (file, text) })
            .collect();
        let ways = circles(&files);
        assert_eq!(ways.is_empty(), found.is_empty(), "{head} | {b} | {c}: {ways:?}");
        for place in found.split_whitespace() {
            assert!(
                ways.values().any(|way| way.contains(&format!("src/a/{place} names"))),
                "{place}: {ways:?}"
            );
        }
    }
}

/// Two folders, each of whose files alone is in no circle.
#[test]
fn folders_are_held_against_each_other() {
    let ways = circles(&owned(&[
        ("src/lib.rs", "pub mod a;"),
        ("src/a/mod.rs", "mod b; mod c;"),
        ("src/a/b.rs", "mod one; mod two;"),
        ("src/a/b/one.rs", "use super::super::c::three::Three;"),
        ("src/a/b/two.rs", "pub struct Two;"),
        ("src/a/c.rs", "mod three; mod four;"),
        ("src/a/c/three.rs", "pub struct Three;"),
        ("src/a/c/four.rs", "use crate::a::b::two::Two;"),
    ]));
    let files: Vec<&String> = ways.keys().collect();
    assert_eq!(files, ["src/a/b.rs", "src/a/c.rs"]);
    assert!(ways["src/a/b.rs"].contains("src/a/c/four.rs:1 names src/a/b/two.rs"), "{ways:?}");
}

#[test]
fn what_does_not_count_makes_no_circle() {
    for (head, b) in [
        ("pub use b::B; pub fn p() {}", "pub struct B; fn f() { super::p() }"),
        (
            "pub fn p() {} fn f() { b::f() }",
            "pub fn f() { p() } fn p() { let p = 1; } #[cfg(test)] mod tests { use super::super::p; }",
        ),
        (
            "pub fn p() {} fn f() { b::f() }",
            "pub(super) fn f() {} // super::p()\nconst X: &str = \"super::p()\";",
        ),
        ("pub struct P; #[cfg(test)] fn f() { b::f() }", "pub(super) fn f(_: super::P) {}"),
    ] {
        let head = format!("mod b; {head}");
        let files = owned(&[("src/lib.rs", "pub mod a;"), ("src/a/mod.rs", &head), ("src/a/b.rs", b)]);
        assert_eq!(circles(&files), BTreeMap::new(), "{head} | {b}");
    }
}
