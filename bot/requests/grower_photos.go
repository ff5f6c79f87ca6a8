package requests

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/register"
)

// packed is how large a file of packed photos grows: what every chat takes.
const packed = 7 << 20

// photoFiles packs all photos of a member, in as many files as it takes.
func (c counter) photoFiles(ctx context.Context, own register.Member) (files []bot.File, err error) {
	var b bytes.Buffer
	var z *zip.Writer
	in := 0
	closeFile := func() error {
		if z == nil {
			return nil
		}
		if err := z.Close(); err != nil {
			return err
		}
		files = append(files, bot.File{Name: fmt.Sprintf("shortday-%s-photos-%d.zip", fileName(own.Name), len(files)+1), Type: "application/zip",
			Alt: plural(in, "photo", "photos") + " of " + own.Name, Data: bytes.Clone(b.Bytes())})
		b.Reset()
		z, in = nil, 0
		return nil
	}
	err = c.reg.EachPhoto(ctx, own.ID, func(p register.Photo) error {
		if z != nil && b.Len()+len(p.Data) > packed {
			if err := closeFile(); err != nil {
				return err
			}
		}
		if z == nil {
			z = zip.NewWriter(&b)
		}
		name := fmt.Sprintf("note-%d-photo-%d.jpg", p.Note, p.ID)
		if p.Report != 0 {
			name = fmt.Sprintf("report-%d-photo-%d.jpg", p.Report, p.ID)
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store, Modified: p.At})
		if err != nil {
			return err
		}
		_, err = w.Write(p.Data)
		in++
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("packing photos: %w", err)
	}
	return files, closeFile()
}
