#!/bin/sh
# Makes an authority of your own (ca.key, ca.crt) and the broker's certificate (server.key, server.crt).
# Usage: sh make_certificates.sh NAME [IP-ADDRESS]   the name (and address) by which the broker is reached
# Keep ca.key off the network. The certificate lasts 825 days: run this again before it ends.
# It serves the phone page too, if it names the `address` there; host.yaml says how to hand it over.
# Whoever connects (daemon, phones, browsers) has to be told to trust ca.crt.
set -eu
umask 077
name=${1:?"name the computer, for instance: sh make_certificates.sh printers.local"}
alternatives="DNS:$name,DNS:localhost,IP:127.0.0.1${2:+,IP:$2}"

if [ ! -f ca.key ]; then
    openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout ca.key -out ca.crt \
        -days 3650 -subj "/CN=hostctl authority" -addext keyUsage=critical,keyCertSign,cRLSign \
        2>/dev/null
fi
openssl req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout server.key -out server.csr \
    -subj "/CN=$name" 2>/dev/null
# Clients look at the alternative names only; strict ones (Python 3.13, phones) want the rest too.
cat > server.ext <<END
subjectAltName=$alternatives
basicConstraints=critical,CA:FALSE
keyUsage=critical,digitalSignature
extendedKeyUsage=serverAuth
subjectKeyIdentifier=hash
authorityKeyIdentifier=keyid
END
openssl x509 -req -in server.csr -CA ca.crt -CAkey ca.key -CAcreateserial -out server.crt \
    -days 825 -extfile server.ext 2>/dev/null
rm server.csr server.ext
chmod 644 ca.crt server.crt
echo "Made server.crt and server.key, for $alternatives, 825 days."
echo "Whoever connects has to trust ca.crt; ca.key stays here, off the network."
