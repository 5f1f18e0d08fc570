package migrations

// What tests need from the inside: the same on files of the test's choice.
var (
	UpFiles    = up
	DownFiles  = down
	ForceFiles = force
	HashFiles  = hashOf
)

// LockKey is the advisory lock that a run holds.
const LockKey = int64(lockKey)
