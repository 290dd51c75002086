//! Headings in German, French, Dutch, Spanish, Danish and Italian, as people of these countries write them: common
//! practice, no published source. A word that means different fields in two of the languages is left out.

use super::field::Field;

/// The field of a heading in one of these languages, its words run together in lower case.
pub(super) fn field_named(plain: &str) -> Option<Field> {
    WORDS.iter().find(|(_, words)| words.split(' ').any(|w| w == plain)).map(|(field, _)| *field)
}

const WORDS: &[(Field, &str)] = &[
    (Field::Lat, "breite breitengrad geographischebreite latitud latitudine breddegrad breedte breedtegraad latitudegps"),
    (
        Field::Lon,
        "länge laenge längengrad laengengrad geographischelänge longitud longitudine længdegrad laengdegrad lengtegraad",
    ),
    (
        Field::Pair,
        "koordinaten koordinater coordonnées coordonnees coördinaten coordinaten coordenadas coordinate posizione posición posicion",
    ),
    (
        Field::Date,
        "datum dato fecha data funddatum vonddatum findedato fechadehallazgo fechadelhallazgo giorno fundetden fundtag fundetdato vinddatum vondstdatum datumvondst datadiritrovamento dateédecouverte datedécouverte datededécouverte fechahallazgo",
    ),
    (Field::Time, "zeit uhrzeit fundzeit heure tijd tijdstip hora tid klokkeslæt tidspunkt ora zeitpunkt zeitstempel horodatage"),
    (
        Field::What,
        "fund fundstück fundstueck fundobjekt désignation gegenstand objekt objet trouvaille vondst voorwerp hallazgo objeto genstand ritrovamento reperto oggetto découverte decouverte",
    ),
    (Field::Description, "beschreibung omschrijving beschrijving descripción descripcion beskrivelse descrizione"),
    (Field::Name, "bezeichnung naam nom nombre navn nome"),
    (
        Field::Kind,
        "art fundtype vondsttype typologie tipologia kategorie fundart catégorie categorie soort categoría categoria tipo",
    ),
    (Field::Depth, "tiefe fundtiefe graafdiepte profondeur diepte profundidad dybde profondità profondita"),
    (Field::Mass, "gewicht masse poids massa peso vægt vaegt"),
    (
        Field::Size,
        "größe groesse durchmesser taille diamètre diametre afmeting doorsnede tamaño tamano diámetro diametro størrelse stoerrelse dimensione",
    ),
    (Field::Material, "metall werkstoff matière matiere matériau materiau métal materiaal metaal materiale metallo materia"),
    (
        Field::TargetId,
        "leitwert zielwert leitwertanzeige conductivité conductivite geleidbaarheid conductividad ledeevne conducibilità",
    ),
    (
        Field::State,
        "zustand conservation conservación conservazione bevaring erhaltung erhaltungszustand état etat staat toestand estado tilstand stato condizione",
    ),
    (Field::Photo, "foto fotos photos fotografi bild photographie afbeelding billede fotografía fotografia immagine"),
    (
        Field::Notes,
        "bemerkung bemerkungen anmerkung notiz notizen remarque remarques commentaire opmerking opmerkingen notas observaciones bemærkning bemaerkning noter osservazioni commento kommentar kommentare kommentarer commentaires commenti comentario comentarios observations osservazione anmerkungen notities",
    ),
    (
        Field::Finder,
        "finderin gefundenvon gevondendoor trouvépar encontradopor halladopor fundetaf trovatoda entdecker découvreur decouvreur inventeur vinder descubridor hallador scopritore rinvenitore ritrovatore",
    ),
    (
        Field::Permission,
        "erlaubnis genehmigung suchgenehmigung autorisation permis toestemming vergunning permiso autorización autorizacion tilladelse permesso autorizzazione",
    ),
    (
        Field::Value,
        "wert valeurestimée valorestimado valorestimato geschattewaarde schätzwert schaetzwert valeur waarde valor værdi vaerdi valore",
    ),
    (
        Field::Age,
        "alter epoche zeitstellung datierung âge époque epoque période ouderdom tijdperk datering edad época epoca alder periode età datazione",
    ),
    (
        Field::Disposal,
        "verbleib aufbewahrung aufbewahrungsort destination bestemming bewaarplaats destino paradero opbevaring destinazione",
    ),
    (
        Field::Reported,
        "gemeldet gemeldetan fundmeldung déclaré déclarée déclaréà gemeld gemeldaan declarado notificado anmeldt indberettet denunciato segnalato",
    ),
    (
        Field::Setup,
        "gerät geraet einstellung einstellungen appareil réglage reglage réglages toestel instelling instellingen aparato ajuste ajustes apparat indstilling indstillinger apparecchio impostazione impostazioni",
    ),
    (Field::Target, "ziel zielobjekt testobjekt cible doel testvoorwerp objetivo mål bersaglio"),
    (Field::Ground, "boden bodenart untergrund grond ondergrond suelo terreno jordbund"),
    (Field::Id, "nummer nummeret numéro numero número fundnummer lfdnr"),
    (Field::Level, "höhe hoehe hauteur hoogte altura højde hoejde altezza quota waterstand wasserstand vandstand"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_word_stands_twice_and_each_is_as_headings_are_looked_up() {
        let words: Vec<&str> = WORDS.iter().flat_map(|(_, words)| words.split(' ')).collect();
        for (n, word) in words.iter().enumerate() {
            assert!(!words[..n].contains(word), "{word} means two things");
            assert!(word.chars().all(|c| c.is_alphanumeric() && !c.is_uppercase()), "{word}");
        }
    }
}
