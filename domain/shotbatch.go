package domain

import "context"

// MaxBatch is the most items of a batch.
const MaxBatch = 500

// PutStatus is how one item of a batch ended.
type PutStatus string

// How an item of a batch ends.
const (
	ItemCreated   PutStatus = "created"
	ItemUnchanged PutStatus = "unchanged"
	ItemConflict  PutStatus = "conflict" // the id holds other content or belonged to a removed record, or another record is in the way
	ItemInvalid   PutStatus = "invalid"  // it cannot be read, breaks a rule, or may not be written by this member
)

// PutStatuses is the list of PutStatus.
var PutStatuses = []PutStatus{ItemCreated, ItemUnchanged, ItemConflict, ItemInvalid}

// ShotItem is one shot of a batch: an id that the client made, and the fields.
type ShotItem struct {
	ID ID `json:"id"`
	ShotFields
}

// ShotResult is how one shot of a batch ended: the stored shot, or why not.
type ShotResult struct {
	Status PutStatus
	Shot   *Shot // nil when Err is not
	Err    error
}

// StatusOf gives how a Put that ended with err stands in a batch.
func StatusOf(how Written, err error) PutStatus {
	switch {
	case err == nil && how == Created:
		return ItemCreated
	case err == nil:
		return ItemUnchanged
	case CodeOf(err) == Conflict || CodeOf(err) == Removed || CodeOf(err) == InTheWay:
		return ItemConflict
	}
	return ItemInvalid
}

// Shots is the store of shots.
type Shots interface {
	Records[ShotFields, ShotFound]
	// PutMany puts up to MaxBatch shots, each as Put does and none depending on another: the results are in the order
	// of the items. It may be repeated. An error of its own means that nothing was written.
	PutMany(ctx context.Context, a Actor, items []ShotItem) ([]ShotResult, error)
}
