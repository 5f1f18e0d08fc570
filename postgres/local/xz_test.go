//go:build linux

package local_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
)

// xzStored wraps content as an .xz file without compressing it, which the standard library can't and the tests need not.
// The format is that of "The .xz File Format", version 1.2.0 (tukaani.org/xz/xz-file-format.txt): one block of stored LZMA2
// chunks, checked by CRC32.
func xzStored(content []byte) []byte {
	var file bytes.Buffer
	flags := []byte{0x00, 0x01} // the check is CRC32
	file.WriteString("\xfd7zXZ\x00")
	file.Write(flags)
	file.Write(sum32(flags))

	// The block's header: its size in words less one, one filter, LZMA2 (0x21) with a dictionary of 4 KiB, padding.
	header := []byte{0x02, 0x00, 0x21, 0x01, 0x00, 0x00, 0x00, 0x00}
	blockBegins := file.Len()
	file.Write(header)
	file.Write(sum32(header))
	for begin := 0; begin < len(content); begin += 1 << 16 {
		chunk := content[begin:min(begin+1<<16, len(content))]
		control := byte(0x02)
		if begin == 0 {
			control = 0x01 // the dictionary begins anew
		}
		file.WriteByte(control)
		file.Write(binary.BigEndian.AppendUint16(nil, uint16(len(chunk)-1)))
		file.Write(chunk)
	}
	file.WriteByte(0x00)
	unpadded := file.Len() - blockBegins + crc32.Size
	pad(&file, file.Len()-blockBegins)
	file.Write(sum32(content))

	index := bytes.NewBuffer([]byte{0x00, 0x01})
	index.Write(binary.AppendUvarint(nil, uint64(unpadded)))
	index.Write(binary.AppendUvarint(nil, uint64(len(content))))
	pad(index, index.Len())
	file.Write(index.Bytes())
	file.Write(sum32(index.Bytes()))

	footer := binary.LittleEndian.AppendUint32(nil, uint32((index.Len()+crc32.Size)/4-1))
	footer = append(footer, flags...)
	file.Write(sum32(footer))
	file.Write(footer)
	file.WriteString("YZ")
	return file.Bytes()
}

// pad fills up to a multiple of four bytes.
func pad(buffer *bytes.Buffer, length int) {
	buffer.Write(make([]byte, (4-length%4)%4))
}

func sum32(content []byte) []byte {
	return binary.LittleEndian.AppendUint32(nil, crc32.ChecksumIEEE(content))
}
