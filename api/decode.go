package api

import (
	"encoding/json"
	"errors"
	"io"
	"strings"

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
	if err := checkStructure(raw, op.Body); err != nil {
		return v, err
	}
	return v, decodeError(jsonv2.Unmarshal(raw, &v, jsonv2.RejectUnknownMembers(true)))
}

// patchBody reads a merge patch of a record's fields and holds it against the contract, as the body of a PUT is: before any
// transaction begins, and so that the patch is small by the time it is applied, however long the body was.
func patchBody[F any](c *gin.Context) ([]byte, error) {
	raw, err := io.ReadAll(c.Request.Body)
	if err != nil {
		return nil, decodeError(err)
	}
	if jsontext.Value(raw).Kind() != '{' {
		return nil, domain.Errorf(domain.Malformed, "A merge patch is a JSON object.")
	}
	_, err = decodeMembers[F](raw, operation(c))
	return raw, err
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
		if doc, err = mergeValue(doc, patch); err != nil {
			return out, err
		}
		err = jsonv2.Unmarshal(doc, &out, jsonv2.RejectUnknownMembers(true))
		return out, decodeError(err)
	}
}

// mergeValue is MergePatch of RFC 7396 section 2. What it takes has few levels, so that reading each of them anew costs little.
func mergeValue(target, patch jsontext.Value) (jsontext.Value, error) {
	if patch.Kind() != '{' {
		return patch, nil
	}
	members, changes := map[string]jsontext.Value{}, map[string]jsontext.Value{}
	if target.Kind() == '{' {
		if err := jsonv2.Unmarshal(target, &members); err != nil {
			return nil, err
		}
	}
	if err := jsonv2.Unmarshal(patch, &changes); err != nil {
		return nil, err
	}
	for name, change := range changes {
		if change.Kind() == 'n' {
			delete(members, name)
			continue
		}
		merged, err := mergeValue(members[name], change)
		if err != nil {
			return nil, err
		}
		members[name] = merged
	}
	return jsonv2.Marshal(members)
}

// decodeError says what is wrong with a body and where, without a word of Go.
func decodeError(err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*domain.Error](err); ok {
		return e
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
