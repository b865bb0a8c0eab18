// The demo county as a file: told once for a whole run of the tests, and copied for each service that they start.
export const BINARY = process.env['FULLSET_BIN'] ?? '../target/debug/fullset'

/** The shell's line that puts a fresh county where the file is said. */
export function freshCounty(file: string): string {
  const told = process.env['E2E_COUNTY']
  const tell = told
    ? `cp -r ${told}.photos ${file}.photos && cp ${told} ${file}`
    : `${BINARY} demo --file ${file} --seed-only`
  return `rm -rf ${file} ${file}-shm ${file}-wal ${file}.photos && ${tell}`
}
