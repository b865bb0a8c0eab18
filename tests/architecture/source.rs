//! What a Rust file names, as its grammar says.

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

/// What stands in a file.
#[derive(Default)]
pub struct Source {
    /// Paths of two words and more, and all that `use` brings in, written out: `use crate::{a::{b, c}}` gives `crate a b` and
    /// `crate a c`. Those in the arguments of macros and attributes are among them.
    pub paths: Vec<Vec<String>>,
    /// The macros that are called, by the last word.
    pub macros: Vec<String>,
    /// The public modules that it declares, in order.
    pub public_modules: Vec<String>,
}

impl Source {
    /// Reads a file.
    pub fn read(file: &str, text: &str) -> Self {
        let parsed = syn::parse_file(text).unwrap_or_else(|error| panic!("{file} is no Rust: {error}"));
        let mut source = Self::default();
        source.visit_file(&parsed);
        source
    }

    /// The paths that begin with one of these words.
    pub fn beginning(&self, roots: &[&str]) -> impl Iterator<Item = &Vec<String>> {
        self.paths
            .iter()
            .filter(move |path| path.first().is_some_and(|first| roots.contains(&first.as_str())))
    }

    fn used(&mut self, tree: &syn::UseTree, before: &[String]) {
        let with = |name: &syn::Ident| [before, &[name.to_string()]].concat();
        match tree {
            syn::UseTree::Path(path) => self.used(&path.tree, &with(&path.ident)),
            syn::UseTree::Name(name) => self.paths.push(with(&name.ident)),
            syn::UseTree::Rename(name) => self.paths.push(with(&name.ident)),
            syn::UseTree::Glob(_) => self.paths.push(before.to_vec()),
            syn::UseTree::Group(group) => group.items.iter().for_each(|tree| self.used(tree, before)),
        }
    }

    /// Paths among tokens that have no grammar of their own.
    fn tokens(&mut self, tokens: &TokenStream) {
        let mut path: Vec<String> = Vec::new();
        let mut colons = 0;
        for token in tokens.clone() {
            match token {
                TokenTree::Punct(sign) if sign.as_char() == ':' => colons += 1,
                TokenTree::Ident(word) => {
                    if colons != 2 {
                        self.keep(&mut path);
                    }
                    path.push(word.to_string());
                    colons = 0;
                }
                other => {
                    self.keep(&mut path);
                    colons = 0;
                    if let TokenTree::Group(group) = other {
                        self.tokens(&group.stream());
                    }
                }
            }
        }
        self.keep(&mut path);
    }

    fn keep(&mut self, path: &mut Vec<String>) {
        let path = std::mem::take(path);
        if path.len() > 1 {
            self.paths.push(path);
        }
    }
}

impl<'a> Visit<'a> for Source {
    fn visit_item_use(&mut self, item: &'a syn::ItemUse) {
        self.used(&item.tree, &[]);
    }

    fn visit_path(&mut self, path: &'a syn::Path) {
        self.keep(&mut path.segments.iter().map(|segment| segment.ident.to_string()).collect());
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, call: &'a syn::Macro) {
        self.macros.extend(call.path.segments.last().map(|segment| segment.ident.to_string()));
        self.tokens(&call.tokens);
        visit::visit_macro(self, call);
    }

    fn visit_attribute(&mut self, attribute: &'a syn::Attribute) {
        if let syn::Meta::List(list) = &attribute.meta {
            self.tokens(&list.tokens);
        }
        visit::visit_attribute(self, attribute);
    }

    fn visit_item_mod(&mut self, module: &'a syn::ItemMod) {
        if matches!(module.vis, syn::Visibility::Public(_)) {
            self.public_modules.push(module.ident.to_string());
        }
        visit::visit_item_mod(self, module);
    }
}
