use clap::Subcommand;

/// Read a file into the register
#[derive(Debug, Subcommand)]
pub enum Import {}

impl Import {
    pub fn run(self) -> anyhow::Result<()> {
        match self {}
    }
}

/// Write the register as a file
#[derive(Debug, Subcommand)]
pub enum Export {}

impl Export {
    pub fn run(self) -> anyhow::Result<()> {
        match self {}
    }
}
