package bot

import (
	"fmt"

	"shortday/knowledge/fault"
)

// Largest is how many bytes a file that comes in may have: a telephone's photo has a third of it.
const Largest = 20 << 20

// File gives the file of a field, the zero File where it was left out.
func (in *In) File(field string) File {
	_, path := in.raw(field)
	if in.err != nil || !in.Has(field) {
		return File{}
	}
	file, err := in.open(field, path)
	switch {
	case err != nil:
		in.Fail(err)
	case len(file.Data) == 0:
		in.unclear("The file %s is empty. Send one that has something in it.", file.Name)
	case len(file.Data) > Largest:
		in.Fail(TooLarge(file.Name))
	}
	if in.err != nil {
		return File{}
	}
	file.Name = Clean(file.Name, false)
	return file
}

func (in *In) open(field, path string) (File, error) {
	for _, e := range in.Fields {
		if e.Field == field && e.File != nil {
			return *e.File, nil
		}
	}
	if in.Open == nil {
		return File{}, fault.New(fault.Missing, "The %s has to be sent along, and it was not. Send the request again with the file attached.", field)
	}
	return in.Open(path)
}

// TooLarge refuses a file before or after it was read.
func TooLarge(name string) error {
	return fault.New(fault.Unclear, "The file %s has more than %s. Send a smaller one, or part of it.", Clean(name, false), Size(Largest))
}

// Size writes a number of bytes as people read it: "840 bytes", "12 kB", "20 MB".
func Size(bytes int) string {
	switch {
	case bytes < 1000:
		return fmt.Sprintf("%d bytes", bytes)
	case bytes < 1_000_000:
		return fmt.Sprintf("%d kB", (bytes+500)/1000)
	}
	return fmt.Sprintf("%d MB", bytes/1_000_000)
}
