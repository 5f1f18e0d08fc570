package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/go-json-experiment/json/jsontext"

	"cagework/domain"
	"cagework/openapi"
)

// Bounds of what is read of a body, whatever the contract says of it.
const (
	maxDepth  = 32 // levels of objects and arrays
	maxFaults = 20 // faults that one answer names
)

// checkStructure holds a JSON value against what the contract says of its structure: unknown, missing and repeated members, null
// where it may not stand, too many members or items, too many levels. It reads the value once from end to end and keeps
// nothing of it, so that its cost grows with the value's length and with nothing else.
func checkStructure(raw []byte, shape *openapi.Shape) error {
	s := structure{d: jsontext.NewDecoder(bytes.NewReader(raw))}
	if err := s.value(shape, 1); err != nil {
		return decodeError(err)
	}
	if len(s.faults) == 0 {
		if _, err := s.d.ReadToken(); !errors.Is(err, io.EOF) {
			return domain.Errorf(domain.Malformed, "The body is more than one JSON value.")
		}
	}
	return domain.Refusal(s.faults)
}

type structure struct {
	d      *jsontext.Decoder
	faults []domain.FieldError
}

// errEnough ends the reading of a value of which enough is known: it has as many faults as an answer names.
var errEnough = errors.New("enough faults")

func (s *structure) fault(pointer jsontext.Pointer, format string, args ...any) {
	s.faults = append(s.faults, domain.FieldError{Pointer: string(pointer), Detail: fmt.Sprintf(format, args...)})
}

// value reads one value.
func (s *structure) value(shape *openapi.Shape, depth int) error {
	switch s.d.PeekKind() {
	case '{':
		return s.within(depth, func() error { return s.object(shape, depth) })
	case '[':
		return s.within(depth, func() error { return s.array(shape, depth) })
	}
	token, err := s.d.ReadToken()
	if err == nil && token.Kind() == 'n' && shape != nil && !shape.Null {
		s.fault(s.d.StackPointer(), "must not be null")
	}
	return err
}

// within reads an object or an array between its brackets.
func (s *structure) within(depth int, inside func() error) error {
	if depth > maxDepth {
		return &domain.Error{Code: domain.Malformed, Message: "The body is nested too deeply.",
			Fields: []domain.FieldError{{Pointer: string(s.d.StackPointer()), Detail: fmt.Sprintf("has more than %d levels", maxDepth)}}}
	}
	if _, err := s.d.ReadToken(); err != nil {
		return err
	}
	if err := inside(); err != nil {
		return err
	}
	_, err := s.d.ReadToken()
	return err
}

func (s *structure) object(shape *openapi.Shape, depth int) error {
	at := s.d.StackPointer()
	var names []string
	for n := 0; s.d.PeekKind() != '}'; n++ {
		token, err := s.d.ReadToken()
		if err != nil {
			return err
		}
		name := token.String()
		member, known := shape.Member(name)
		switch {
		case !known:
			s.fault(s.d.StackPointer(), "there is no such member")
		case shape != nil && shape.Most > 0 && n == shape.Most:
			s.fault(at, "must have at most %d members", shape.Most)
		}
		if err := s.enough(); err != nil {
			return err
		}
		if known && shape != nil && len(shape.Required) > 0 {
			names = append(names, name)
		}
		if err := s.value(member, depth+1); err != nil {
			return err
		}
	}
	for _, name := range shape.Lacks(names) {
		s.fault(at+jsontext.Pointer("/"+name), "must be there")
	}
	return nil
}

func (s *structure) array(shape *openapi.Shape, depth int) error {
	at := s.d.StackPointer()
	for n := 0; s.d.PeekKind() != ']'; n++ {
		if shape != nil && shape.Most > 0 && n == shape.Most {
			s.fault(at, "must have at most %d items", shape.Most)
		}
		if err := s.enough(); err != nil {
			return err
		}
		if err := s.value(shape.Item(), depth+1); err != nil {
			return err
		}
	}
	return nil
}

// enough refuses to read on when an answer could name no more faults.
func (s *structure) enough() error {
	if len(s.faults) < maxFaults {
		return nil
	}
	return &domain.Error{Code: domain.Invalid, Message: "The record breaks a rule.", Fields: s.faults, Cause: errEnough}
}
