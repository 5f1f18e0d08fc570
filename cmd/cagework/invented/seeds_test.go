//go:build !race

package invented

// seeds is how many programs the tests over many programs make up.
const seeds = 200
