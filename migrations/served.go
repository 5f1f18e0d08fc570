package migrations

// A program and a schema need not be of one version. Which go together is said twice, for each side may be the newer one:
//
//   - by the program, for schemas that are older than the newest it knows: Lowest, below;
//   - by the schema, for programs that are older than it: its comment, "serves programs that know schema version N".
//
// The rule for the second: a migration that only adds (a table, an index, a column that may be absent or has a default that
// stays, a right, a function) leaves the comment alone, so that the program before it may go on while the new one is rolled
// out, or when it is rolled back. Any other migration sets the comment to its own number, and its step down sets it to what it
// was. TestAMigrationSaysWhomItServes reads the files and holds them to that.

// Lowest is the oldest schema that this program can serve, Latest the newest that it knows. It may stay behind as long as no
// statement of the program needs what came after it: TestTheLowestSchemaServesEveryOperation runs every operation on it. Raise it
// with the program that needs more.
const Lowest uint = 34
