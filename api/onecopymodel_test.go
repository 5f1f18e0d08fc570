package api_test

import (
	"fmt"
	"reflect"
	"slices"

	"github.com/anishathalye/porcupine"
)

// What a record is to clients who write it at once: one copy that takes one request after the other. The checker looks for an
// order in which every answer that was got is right; a request without an answer was carried out or not.

// asked is one request about a record.
type asked struct {
	record  string
	verb    string // get, put, patch, delete, undo
	content string // of put and patch
	match   int64  // If-Match of patch, delete and undo
}

// told is the answer; lost when there was none.
type told struct {
	lost    bool
	status  int
	content string // "" when there is no record
	rev     int64  // the ETag; 0 when there is none
}

func (a asked) String() string {
	return fmt.Sprintf("%s %s %q if %d", a.verb, a.record, a.content, a.match)
}

func (o told) String() string {
	if o.lost {
		return "lost"
	}
	return fmt.Sprintf("%d %q rev %d", o.status, o.content, o.rev)
}

// written is one change: its number, 0 while no answer has told it, and what the record was before; "" for nothing.
type written struct {
	rev    int64
	before string
}

// copied is the one copy: what the record is ("" for nothing) and its changes.
type copied struct {
	now string
	log []written
}

func (s copied) last() *written {
	if len(s.log) == 0 {
		return nil
	}
	return &s.log[len(s.log)-1]
}

// write makes a change; rev is 0 where nobody was told.
func (s copied) write(content string, rev int64) []copied {
	if rev != 0 && rev <= s.floor(len(s.log)) {
		return nil
	}
	return []copied{{content, append(slices.Clone(s.log), written{rev, s.now})}}
}

// floor is the greatest number known of the first n changes.
func (s copied) floor(n int) int64 {
	for i := n - 1; i >= 0; i-- {
		if s.log[i].rev != 0 {
			return s.log[i].rev
		}
	}
	return 0
}

// knowing is the state when a change is known to have a number; nothing when it cannot have it.
func (s copied) knowing(i int, rev int64) []copied {
	switch {
	case i < 0 || s.log[i].rev != 0 && s.log[i].rev != rev:
		return nil
	case s.log[i].rev == rev:
		return []copied{s}
	case rev <= s.floor(i):
		return nil
	}
	for _, later := range s.log[i+1:] {
		if later.rev != 0 && later.rev <= rev {
			return nil
		}
	}
	log := slices.Clone(s.log)
	log[i].rev = rev
	return []copied{{s.now, log}}
}

// at is the state when its last change has a number.
func (s copied) at(rev int64) []copied { return s.knowing(len(s.log)-1, rev) }

func (s copied) had(content string) bool {
	return s.now == content || slices.ContainsFunc(s.log, func(w written) bool { return w.before == content })
}

// step gives the states in which a request with its answer may leave the record; none when the answer cannot be.
func step(s copied, in asked, out told) []copied {
	if out.lost {
		return append(effects(s, in), s)
	}
	switch in.verb {
	case "get":
		return stepGet(s, out)
	case "put":
		return stepPut(s, in, out)
	case "patch":
		return stepPatch(s, in, out)
	case "delete":
		return stepDelete(s, in, out)
	}
	return stepUndo(s, in, out)
}

// effects are the states after a request whose answer was lost, where it did something.
func effects(s copied, in asked) []copied {
	var out []copied
	switch {
	case in.verb == "put" && s.last() == nil:
		return s.write(in.content, 0)
	case s.last() == nil || in.verb == "put" || in.verb == "get":
		return nil
	case in.verb == "patch" && (s.now == "" || s.now == in.content), in.verb == "delete" && s.now == "":
		return nil
	}
	for _, matched := range s.at(in.match) {
		switch in.verb {
		case "patch":
			out = append(out, matched.write(in.content, 0)...)
		case "delete":
			out = append(out, matched.write("", 0)...)
		case "undo":
			out = append(out, matched.write(matched.last().before, 0)...)
		}
	}
	return out
}

func stepGet(s copied, out told) []copied {
	switch {
	case out.status == 404 && s.now == "":
		return []copied{s}
	case out.status == 200 && s.now != "" && s.now == out.content:
		return s.at(out.rev)
	}
	return nil
}

func stepPut(s copied, in asked, out told) []copied {
	switch {
	case out.status == 201 && s.last() == nil:
		return s.write(in.content, out.rev)
	case out.status == 200 && s.now != "" && s.now == out.content && s.had(in.content):
		return s.at(out.rev)
	case out.status == 409 && s.now == "" && s.last() != nil && out.rev == 0:
		return []copied{s}
	case out.status == 409 && s.now != "" && !s.had(in.content):
		return s.at(out.rev)
	}
	return nil
}

// refusedAsStale is the state when a request named another one than there is.
func refusedAsStale(s copied, in asked, out told) []copied {
	if out.rev == in.match {
		return nil
	}
	return s.at(out.rev)
}

func stepPatch(s copied, in asked, out told) []copied {
	var next []copied
	switch {
	case out.status == 404 && s.now == "":
		return []copied{s}
	case s.now == "":
		return nil
	case out.status == 200 && s.now == in.content:
		return s.at(out.rev)
	case out.status == 200:
		for _, matched := range s.at(in.match) {
			next = append(next, matched.write(in.content, out.rev)...)
		}
	case out.status == 412 && s.now != in.content:
		return refusedAsStale(s, in, out)
	}
	return next
}

func stepDelete(s copied, in asked, out told) []copied {
	var next []copied
	switch {
	case out.status == 204 && s.now != "":
		for _, matched := range s.at(in.match) {
			next = append(next, matched.write("", 0)...)
		}
	case out.status == 204 && s.last() != nil: // it is confirmed
		return s.knowing(len(s.log)-2, in.match)
	case out.status == 404 && s.now == "" && (len(s.log) < 2 || s.log[len(s.log)-2].rev != in.match):
		return []copied{s}
	case out.status == 412 && s.now != "":
		return refusedAsStale(s, in, out)
	}
	return next
}

func stepUndo(s copied, in asked, out told) []copied {
	var next []copied
	switch {
	case out.status == 404 && s.last() == nil:
		return []copied{s}
	case out.status == 200 && s.last() != nil:
		for i := range s.log { // it is confirmed
			if s.log[i].before == s.now && s.now == out.content {
				for _, known := range s.knowing(i, in.match) {
					next = append(next, known.at(out.rev)...)
				}
			}
		}
		for _, matched := range s.at(in.match) {
			if before := matched.last().before; before != matched.now && before == out.content {
				next = append(next, matched.write(before, out.rev)...)
			}
		}
	case out.status == 412 && !slices.Contains(s.log, written{in.match, s.now}): // else it would be confirmed
		return refusedAsStale(s, in, out)
	}
	return next
}

// oneCopy is the model of every record by itself.
var oneCopy = (&porcupine.NondeterministicModel{
	Partition: func(history []porcupine.Operation) [][]porcupine.Operation {
		byRecord := map[string][]porcupine.Operation{}
		for _, op := range history {
			record := op.Input.(asked).record
			byRecord[record] = append(byRecord[record], op)
		}
		var parts [][]porcupine.Operation
		for _, part := range byRecord {
			parts = append(parts, part)
		}
		return parts
	},
	Init: func() []any { return []any{copied{}} },
	Step: func(state, input, output any) []any {
		var next []any
		for _, s := range step(state.(copied), input.(asked), output.(told)) {
			next = append(next, s)
		}
		return next
	},
	Equal: reflect.DeepEqual,
	DescribeOperation: func(input, output any) string {
		return fmt.Sprint(input, " → ", output)
	},
}).ToModel()
