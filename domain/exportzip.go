package domain

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// ExportZip writes an export as a zip file: lists in JSON, tables in CSV, and a README.txt that says what is what. Each record
// is written as it comes, so that none of it is kept in memory.
type ExportZip struct {
	zip   *zip.Writer
	title string
	about []string

	file  io.Writer
	table *csv.Writer // of a table
	count int
}

// NewExportZip begins a zip file; the title is the first line of its README.txt.
func NewExportZip(to io.Writer, title string) *ExportZip {
	return &ExportZip{zip: zip.NewWriter(to), title: title}
}

// File ends the file before and begins the next.
func (z *ExportZip) File(name, about string) error {
	if err := z.end(); err != nil {
		return err
	}
	file, err := z.zip.Create(name)
	if err != nil {
		return err
	}
	z.file, z.count = file, 0
	z.about = append(z.about, name+": "+about)
	if strings.HasSuffix(name, ".csv") {
		z.table = csv.NewWriter(file)
	}
	return nil
}

// Add writes the next record.
func (z *ExportZip) Add(record any) error {
	text, err := json.Marshal(record)
	if err != nil {
		return err
	}
	z.count++
	if z.table != nil {
		return z.row(text)
	}
	before := ",\n"
	if z.count == 1 {
		before = "[\n"
	}
	_, err = io.WriteString(z.file, before+string(text))
	return err
}

// row writes a record as a row; the first one writes the names of the columns before it.
func (z *ExportZip) row(text []byte) error {
	names, cells, err := cellsOf(text)
	if err != nil {
		return err
	}
	if z.count == 1 {
		if err := z.table.Write(names); err != nil {
			return err
		}
	}
	return z.table.Write(cells)
}

// cellsOf gives the members of an object in their order: a text without its quotes, nothing for null, a list as its JSON.
func cellsOf(text []byte) (names, cells []string, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	if _, err := d.Token(); err != nil {
		return nil, nil, err
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return nil, nil, err
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return nil, nil, err
		}
		cell := string(value)
		var said string
		switch {
		case cell == "null":
			cell = ""
		case json.Unmarshal(value, &said) == nil:
			cell = safeCell(said)
		}
		names, cells = append(names, fmt.Sprint(name)), append(cells, cell)
	}
	return names, cells, nil
}

// safeCell keeps a spreadsheet from taking a text for a formula.
func safeCell(said string) string {
	if strings.ContainsAny(said[:min(1, len(said))], "=+-@\t\r\n") || strings.IndexAny(said, "＝＋－＠") == 0 {
		return "'" + said
	}
	return said
}

func (z *ExportZip) end() error {
	switch {
	case z.file == nil:
		return nil
	case z.table != nil:
		z.table.Flush()
		err := z.table.Error()
		z.table = nil
		return err
	case z.count == 0:
		_, err := io.WriteString(z.file, "[]\n")
		return err
	}
	_, err := io.WriteString(z.file, "\n]\n")
	return err
}

// Close writes the README.txt and ends the zip file.
func (z *ExportZip) Close() error {
	if err := z.end(); err != nil {
		return err
	}
	file, err := z.zip.Create("README.txt")
	if err != nil {
		return err
	}
	const rest = "\n\nThe .json files are lists of records as the API gives them; its reference says what each member means. " +
		"Lengths are metres,\ninstants are RFC 3339. Other people stand here by their ids only.\n"
	if _, err := io.WriteString(file, z.title+"\n\n"+strings.Join(z.about, "\n")+rest); err != nil {
		return err
	}
	return z.zip.Close()
}
