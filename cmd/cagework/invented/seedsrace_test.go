//go:build race

package invented

// seeds is smaller under the race detector, which is ten times slower: there the tests look for races.
const seeds = 12
