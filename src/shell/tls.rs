//! TLS for the connection to the event's server: rustls, with the certificate and the name in it verified.

use std::future::Future;
use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio_postgres::tls::{ChannelBinding, MakeTlsConnect, TlsConnect, TlsStream};
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore, crypto::ring};
use tokio_rustls::{TlsConnector, client};

/// Makes TLS connections that trust these certificates.
#[derive(Clone)]
pub struct Verified {
    connector: TlsConnector,
}

impl Verified {
    /// Trusts the certificates of a file, or else those of the system.
    ///
    /// # Errors
    /// Where the file cannot be read or no certificate is found.
    pub fn new(sslrootcert: Option<&str>) -> Result<Self, String> {
        let mut roots = RootCertStore::empty();
        match sslrootcert.filter(|path| *path != "system") {
            Some(path) => {
                let told =
                    |why: String| format!("the certificates of sslrootcert {path} cannot be used: {why}");
                let all = CertificateDer::pem_file_iter(path).map_err(|error| told(error.to_string()))?;
                for certificate in all {
                    let certificate = certificate.map_err(|error| told(error.to_string()))?;
                    roots.add(certificate).map_err(|error| told(error.to_string()))?;
                }
            }
            None => {
                roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
            }
        }
        if roots.is_empty() {
            return Err(
                "no certificate to trust was found: name a file with sslrootcert in the URL".to_owned()
            );
        }
        let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|error| error.to_string())?
            .with_root_certificates(roots)
            .with_no_client_auth();
        Ok(Self { connector: TlsConnector::from(Arc::new(config)) })
    }
}

/// Connects to one host.
pub struct ToHost {
    connector: TlsConnector,
    host: Result<ServerName<'static>, String>,
}

impl<S> MakeTlsConnect<S> for Verified
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    type Stream = Stream<S>;
    type TlsConnect = ToHost;
    type Error = io::Error;

    fn make_tls_connect(&mut self, host: &str) -> Result<ToHost, io::Error> {
        let name = ServerName::try_from(host.to_owned()).map_err(|error| error.to_string());
        Ok(ToHost { connector: self.connector.clone(), host: name })
    }
}

impl<S> TlsConnect<S> for ToHost
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    type Stream = Stream<S>;
    type Error = io::Error;
    type Future = Pin<Box<dyn Future<Output = io::Result<Stream<S>>> + Send>>;

    fn connect(self, stream: S) -> Self::Future {
        Box::pin(async move {
            let host = self.host.map_err(|error| io::Error::new(io::ErrorKind::InvalidInput, error))?;
            Ok(Stream(self.connector.connect(host, stream).await?))
        })
    }
}

/// A protected stream.
pub struct Stream<S>(client::TlsStream<S>);

impl<S: AsyncRead + AsyncWrite + Unpin> TlsStream for Stream<S> {
    fn channel_binding(&self) -> ChannelBinding {
        ChannelBinding::none()
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin> AsyncRead for Stream<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0).poll_read(context, buffer)
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin> AsyncWrite for Stream<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.0).poll_write(context, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0).poll_shutdown(context)
    }
}
