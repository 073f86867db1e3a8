package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/xuri/excelize/v2"
)

// sortedZip is an archive whose parts stand in the order of their names, without
// dates. The library writes large parts in an order that changes from run to run.
type sortedZip struct {
	*zip.Writer
	parts map[string]*bytes.Buffer
}

func newSortedZip(w io.Writer) excelize.ZipWriter {
	return &sortedZip{zip.NewWriter(w), map[string]*bytes.Buffer{}}
}

// Create begins a part, which is kept until Close.
func (z *sortedZip) Create(name string) (io.Writer, error) {
	part := &bytes.Buffer{}
	z.parts[name] = part
	return part, nil
}

// Close writes all parts and ends the archive.
func (z *sortedZip) Close() error {
	for _, name := range slices.Sorted(maps.Keys(z.parts)) {
		part, err := z.Writer.Create(name)
		if err != nil {
			return fmt.Errorf("begin part %s: %w", name, err)
		}
		if _, err := z.parts[name].WriteTo(part); err != nil {
			return fmt.Errorf("write part %s: %w", name, err)
		}
	}
	return z.Writer.Close()
}
