#!/bin/sh
# Writes the files beside this script again. Needs LibreOffice Calc (`soffice`); the tests do not.
set -eu
cd "$(dirname "$0")"
profiles=$(mktemp -d)
trap 'rm -rf "$profiles"' EXIT

# calc LANGUAGE ARGUMENT...: Calc as it is set up where that language is spoken, which decides how days are written.
calc() {
    language=$1
    shift
    mkdir -p "$profiles/$language/user"
    cat >"$profiles/$language/user/registrymodifications.xcu" <<XML
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>$language</value></prop></item></oor:items>
XML
    soffice "-env:UserInstallation=file://$profiles/$language" --headless "$@" >/dev/null
}

# csv LANGUAGE NAME TARGET DELIMITER CHARSET: both by the numbers of Calc's filter options, 34 is the quotation mark.
csv() {
    calc "$1" --convert-to "csv:Text - txt - csv (StarCalc):$4,34,$5,1" --outdir "$profiles/out" "$2.ods"
    mv "$profiles/out/$2.csv" "$3"
}

# Typed text becomes cells: 2 keeps a column as text, 4 reads day, month and year, 1 guesses as Calc does.
typed="--infilter=Text - txt - csv (StarCalc):59,34,76,1"
calc en-GB "$typed,1/2/2/2/3/2/4/2/5/2/6/4/7/4/9/2/10/2" --convert-to ods typed/squad.csv
calc en-GB "$typed,1/4/7/2/8/2" --convert-to ods typed/fixtures.csv
calc en-GB "$typed,1/4" --convert-to ods typed/fixtures-one-cell.csv
calc en-GB "$typed,,2057,false,true" --convert-to ods typed/positions.csv

for name in squad fixtures; do
    calc en-GB --convert-to xlsx "$name.ods"
    calc en-GB --convert-to xls "$name.ods"
    calc en-GB --convert-to html "$name.ods"
    for encoding in utf8=76 windows1252=ANSI utf16=65535; do
        for delimiter in comma=44 semicolon=59 tab=9; do
            csv en-GB "$name" "$name.${encoding%=*}.${delimiter%=*}.csv" "${delimiter#*=}" "${encoding#*=}"
        done
    done
    csv en-US "$name" "$name.american.csv" 44 76
done
for name in fixtures-one-cell positions; do
    calc en-GB --convert-to xlsx "$name.ods"
    csv en-GB "$name" "$name.csv" 44 76
    rm "$name.ods"
done
