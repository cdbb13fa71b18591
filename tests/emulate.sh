#!/bin/sh
# Runs the tests of vector widths on a processor with AVX-512, which this machine may lack: emulate.sh BUILD. BUILD has
# the tests compiled. Bochs boots Debian's kernel for virtual machines with nothing but them in memory; some five
# minutes. Needs Debian and what it installs from there; everything it makes stays in BUILD/emulated.
set -eu
cd "$(dirname "$0")/.."
. tests/setup.sh

build=$(cd "$1" && pwd)
place=$build/emulated
tests='test_numbers_kernels test_optics_leaks'
to_emulate='
bochs           command -v bochs
bochsbios       test -e /usr/share/bochs/BIOS-bochs-latest
vgabios         test -e /usr/share/vgabios/vgabios.bin
busybox-static  test -x /bin/busybox
isolinux        test -e /usr/lib/ISOLINUX/isolinux.bin
syslinux-common test -e /usr/lib/syslinux/modules/bios/ldlinux.c32
xorriso         command -v xorriso
cpio            command -v cpio
'

fetch_kernel() {
    package=$(apt-cache depends linux-image-cloud-amd64 | awk '$1 == "Depends:" && $2 ~ /^linux-image/ { print $2; exit }')
    (cd "$place" && apt-get -q download "$package" && dpkg -x "$package"_*.deb kernel)
}

# The tests, the libraries that they load, and what starts them.
fill_memory() {
    root=$place/root
    mkdir -p "$root/bin" "$root/proc" "$root/dev"
    cp /bin/busybox "$root/bin/"
    ln -sf busybox "$root/bin/sh"
    for test in $tests; do
        cp "$build/tests/$test" "$root/bin/"
        ldd "$build/tests/$test" | grep -o '/[^ ]*' | while read -r library; do
            mkdir -p "$root$(dirname "$library")"
            cp -L "$library" "$root$library"
        done
    done
    cat >"$root/init" <<END
#!/bin/sh
/bin/busybox mount -t proc proc /proc
/bin/busybox mount -t devtmpfs dev /dev
/bin/busybox grep -q avx512dq /proc/cpuinfo || echo "emulated: no AVX-512"
for test in $tests; do
    OMP_NUM_THREADS=1 LUXFALL_SCENES=10 /bin/\$test 2>&1 && echo "emulated: \$test passed"
done
/bin/busybox sleep 2 && /bin/busybox poweroff -f # all is said by then
END
    chmod +x "$root/init"
    (cd "$root" && find . | cpio --quiet -o -H newc | gzip -1) >"$place/disc/memory"
}

# The kernel of today does not agree with the emulator about two ways of saving registers.
write_disc() {
    cp "$place"/kernel/boot/vmlinuz* "$place/disc/kernel"
    cp /usr/lib/ISOLINUX/isolinux.bin /usr/lib/syslinux/modules/bios/ldlinux.c32 "$place/disc/isolinux/"
    cat >"$place/disc/isolinux/isolinux.cfg" <<END
DEFAULT tests
LABEL tests
 KERNEL /kernel
 APPEND initrd=/memory console=ttyS0 quiet mitigations=off noapic nosmp lpj=1000000 clearcpuid=xsaves,xsavec
END
    xorriso -as mkisofs -quiet -o "$place/disc.iso" -b isolinux/isolinux.bin -c isolinux/boot.cat -no-emul-boot \
        -boot-load-size 4 -boot-info-table "$place/disc"
}

boot() {
    cat >"$place/machine" <<END
megs: 1024
cpu: model=corei7_skylake_x, ips=50000000
romimage: file=/usr/share/bochs/BIOS-bochs-latest
vgaromimage: file=/usr/share/vgabios/vgabios.bin
ata0-master: type=cdrom, path=$place/disc.iso, status=inserted
boot: cdrom
com1: enabled=1, mode=file, dev=$place/says
log: $place/log
panic: action=fatal
display_library: rfb, options="timeout=0"
END
    echo c >"$place/start"
    timeout 3600 bochs -q -f "$place/machine" -rc "$place/start" </dev/zero >"$place/bochs" 2>&1 || true
}

set_up "$to_emulate"
rm -rf "$place"
mkdir -p "$place/disc/isolinux"
fetch_kernel
fill_memory
write_disc
boot
cat "$place/says"
passed=$(grep -c 'emulated: test_.* passed' "$place/says" || true)
failed=$(($(echo "$tests" | wc -w) - passed))
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && grep -q 'plain against avx512' "$place/says" && grep -q 'waves (avx512)' "$place/says"
