package main

import (
	"errors"
	"fmt"
	"os"

	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// backup copies the register into a file that does not exist yet.
type backup struct {
	File string `arg:"" help:"The file to write."`
}

// Run makes the copy.
func (b *backup) Run(p *program) (err error) {
	path, err := p.file()
	if err != nil {
		return err
	}
	if err := exists(path); err != nil {
		return err
	}
	reg, err := p.register(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	if err := reg.Backup(p, b.File); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "The register %s is copied to %s.\n", path, b.File)
	return err
}

// exists refuses a register that is not there: opening would make an empty one.
func exists(path string) error {
	if _, err := os.Stat(path); err != nil {
		return fault.New(fault.Missing, "There is no register %s to copy. Name another with --db.", path).Because(err)
	}
	return nil
}

// restore puts a backup in the register's place.
type restore struct {
	File string `arg:"" help:"The backup to put back."`
}

// Run checks the backup and puts it in place.
func (r *restore) Run(p *program) error {
	path, err := p.file()
	if err != nil {
		return err
	}
	kept, err := register.Restore(p, r.File, path)
	if err != nil {
		return err
	}
	if _, err = fmt.Fprintf(p.stdout, "The register %s is now as it was in %s.\n", path, r.File); err == nil && kept != "" {
		_, err = fmt.Fprintf(p.stdout, "The one that it replaced is kept in %s.\n", kept)
	}
	return err
}
