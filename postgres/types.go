package postgres

import (
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgtype"

	"cagework/domain"
)

// registerTypes teaches a connection to read and write domain.ID as uuid and domain.Date as date, so that the
// domain needs to know no driver. Instants are read in UTC, whatever the machine's zone: an instant in another zone
// is written otherwise in JSON, and would look like other content.
func registerTypes(m *pgtype.Map) {
	m.RegisterType(&pgtype.Type{
		Name: "timestamptz", OID: pgtype.TimestamptzOID, Codec: &pgtype.TimestamptzCodec{ScanLocation: time.UTC},
	})
	m.TryWrapEncodePlanFuncs = append([]pgtype.TryWrapEncodePlanFunc{wrapEncode}, m.TryWrapEncodePlanFuncs...)
	m.TryWrapScanPlanFuncs = append([]pgtype.TryWrapScanPlanFunc{wrapScan}, m.TryWrapScanPlanFuncs...)
}

func wrapEncode(value any) (pgtype.WrappedEncodePlanNextSetter, any, bool) {
	switch v := value.(type) {
	case domain.ID:
		return &encodeID{}, idValue(v), true
	case domain.Date:
		return &encodeDate{}, dateValue(v), true
	}
	return nil, nil, false
}

func wrapScan(target any) (pgtype.WrappedScanPlanNextSetter, any, bool) {
	switch t := target.(type) {
	case *domain.ID:
		return &scanID{}, (*idValue)(t), true
	case *domain.Date:
		return &scanDate{}, (*dateValue)(t), true
	}
	return nil, nil, false
}

type idValue domain.ID

func (v idValue) UUIDValue() (pgtype.UUID, error) { return pgtype.UUID{Bytes: v, Valid: true}, nil }

func (v *idValue) ScanUUID(u pgtype.UUID) error {
	if !u.Valid {
		return fmt.Errorf("cannot read NULL into an ID")
	}
	*v = u.Bytes
	return nil
}

type dateValue domain.Date

func (v dateValue) DateValue() (pgtype.Date, error) {
	return pgtype.Date{Time: domain.Date(v).Time(), Valid: true}, nil
}

func (v *dateValue) ScanDate(d pgtype.Date) error {
	if !d.Valid || d.InfinityModifier != pgtype.Finite {
		return fmt.Errorf("cannot read NULL or an infinite date into a Date")
	}
	*v = dateValue(domain.DateOf(d.Time.In(time.UTC)))
	return nil
}

type encodeID struct{ next pgtype.EncodePlan }

func (p *encodeID) SetNext(next pgtype.EncodePlan) { p.next = next }
func (p *encodeID) Encode(value any, buf []byte) ([]byte, error) {
	return p.next.Encode(idValue(value.(domain.ID)), buf)
}

type encodeDate struct{ next pgtype.EncodePlan }

func (p *encodeDate) SetNext(next pgtype.EncodePlan) { p.next = next }
func (p *encodeDate) Encode(value any, buf []byte) ([]byte, error) {
	return p.next.Encode(dateValue(value.(domain.Date)), buf)
}

type scanID struct{ next pgtype.ScanPlan }

func (p *scanID) SetNext(next pgtype.ScanPlan) { p.next = next }
func (p *scanID) Scan(src []byte, target any) error {
	return p.next.Scan(src, (*idValue)(target.(*domain.ID)))
}

type scanDate struct{ next pgtype.ScanPlan }

func (p *scanDate) SetNext(next pgtype.ScanPlan) { p.next = next }
func (p *scanDate) Scan(src []byte, target any) error {
	return p.next.Scan(src, (*dateValue)(target.(*domain.Date)))
}
