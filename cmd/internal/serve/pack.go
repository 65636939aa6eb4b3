package serve

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"errors"
	"fmt"
	"io"

	"tieup/plots/page"
)

// mostPacked is the largest packed file that an address can hold.
const mostPacked = 48 << 10

// pack makes a file short enough for an address.
func pack(src []byte) (string, error) {
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.BestCompression)
	if err != nil {
		return "", err
	}
	if _, err := w.Write(src); err != nil {
		return "", err
	}
	if err := w.Close(); err != nil {
		return "", err
	}
	packed := base64.RawURLEncoding.EncodeToString(b.Bytes())
	if len(packed) > mostPacked {
		return "", fmt.Errorf("the file takes %d kB even when packed, and an address holds up to %d kB: "+
			"leave out notes and sources that the page does not need",
			(len(packed)+1023)>>10, mostPacked>>10)
	}
	return packed, nil
}

var errPacked = errors.New("the packed file in this address is damaged: was the whole address copied?")

// unpack returns what pack was given, or no more than shows that it is larger
// than most.
func unpack(packed string, most int) ([]byte, error) {
	if len(packed) > mostPacked {
		return nil, errPacked
	}
	b, err := base64.RawURLEncoding.DecodeString(packed)
	if err != nil {
		return nil, errPacked
	}
	src, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(b)), int64(most)+1))
	if err != nil {
		return nil, errPacked
	}
	return src, nil
}

// Put puts a train file into a state.
func Put(st *page.State, name string, src []byte) error {
	packed, err := pack(src)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	st.Train, st.File, st.FileName = "", packed, page.ShortName(name)
	return nil
}
