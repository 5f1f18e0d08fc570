package api

import (
	"encoding/json"
	"errors"
	"io"
	"strings"

	jsonpatch "github.com/evanphx/json-patch/v5"
	"github.com/gin-gonic/gin"
	jsonv2 "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"cagework/domain"
	"cagework/openapi"
)

// decode reads a JSON body strictly: unknown and repeated members, invalid UTF-8, a member in other letter case and
// anything after the value are refused, with a pointer to the place; and so is the silence or the null of a member
// where the contract has neither, for Go would take both as zero.
func decode[T any](c *gin.Context) (T, error) {
	raw, err := io.ReadAll(c.Request.Body)
	if err != nil {
		var none T
		return none, decodeError(err)
	}
	return decodeMembers[T](raw, operation(c))
}

// decodeMembers reads one object of an operation's body.
func decodeMembers[T any](raw []byte, op openapi.Operation) (T, error) {
	var v T
	if err := jsonv2.Unmarshal(raw, &v, jsonv2.RejectUnknownMembers(true)); err != nil {
		return v, decodeError(err)
	}
	var members map[string]jsontext.Value
	if err := jsonv2.Unmarshal(raw, &members); err != nil {
		return v, decodeError(err)
	}
	var faults []domain.FieldError
	for _, name := range op.Required {
		if _, there := members[name]; !there {
			faults = append(faults, domain.FieldError{Pointer: "/" + name, Detail: "must be there"})
		}
	}
	for _, name := range op.NotNull {
		if members[name].Kind() == 'n' {
			faults = append(faults, domain.FieldError{Pointer: "/" + name, Detail: "must not be null"})
		}
	}
	return v, domain.Refusal(faults)
}

// patchBody reads a merge patch: any JSON object that is well-formed.
func patchBody(c *gin.Context) ([]byte, error) {
	var raw jsontext.Value
	if err := jsonv2.UnmarshalRead(c.Request.Body, &raw); err != nil {
		return nil, decodeError(err)
	}
	if raw.Kind() != '{' {
		return nil, domain.Errorf(domain.Malformed, "A merge patch is a JSON object.")
	}
	return raw, nil
}

// merge gives the change that a merge patch makes to a record's fields (RFC 7396): null removes, lists are
// replaced whole.
func merge[F any](patch []byte) func(F) (F, error) {
	return func(present F) (F, error) {
		var out F
		doc, err := json.Marshal(present)
		if err != nil {
			return out, err
		}
		if doc, err = jsonpatch.MergePatch(doc, patch); err != nil {
			return out, domain.Errorf(domain.Malformed, "The merge patch cannot be applied.")
		}
		err = jsonv2.Unmarshal(doc, &out, jsonv2.RejectUnknownMembers(true))
		return out, decodeError(err)
	}
}

// decodeError says what is wrong with a body and where, without a word of Go.
func decodeError(err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		out := &domain.Error{Code: domain.Malformed, Message: "The body is not well-formed JSON.", Cause: err}
		if errors.Is(err, jsontext.ErrDuplicateName) {
			out.Message = "A member is there twice."
		}
		if e.JSONPointer != "" {
			out.Fields = []domain.FieldError{{Pointer: string(e.JSONPointer), Detail: syntaxWords(e.Err)}}
		}
		return out
	}
	if e, ok := errors.AsType[*jsonv2.SemanticError](err); ok {
		detail := "is not of the right type or form"
		if said, ok := errors.AsType[*domain.Error](e.Err); ok {
			detail = said.Message
		} else if errors.Is(err, jsonv2.ErrUnknownName) {
			detail = "there is no such member"
		}
		return &domain.Error{Code: domain.Invalid, Message: "The record breaks a rule.", Cause: err,
			Fields: []domain.FieldError{{Pointer: string(e.JSONPointer), Detail: detail}}}
	}
	return &domain.Error{Code: domain.Malformed, Message: "The body cannot be read.", Cause: err}
}

func syntaxWords(err error) string {
	switch {
	case errors.Is(err, jsontext.ErrDuplicateName):
		return "is there twice"
	case err != nil && strings.Contains(err.Error(), "UTF-8"):
		return "is not valid UTF-8"
	}
	return "is not well-formed"
}
